import { HardstandError } from "../../../src/errors/index.ts";
import {
  buildingAnswer,
  canopyCollection,
  contourCollection,
  groundAnswer as groundSchema,
} from "../../../src/plan/http.ts";
import type { Scene } from "../../../src/terrain/scene.ts";
import type { Ground } from "../../jobs/ground-desk.ts";
import type { Context } from "../context.ts";
import { canopyOf, contoursOf, groundAnswer, groundTag } from "../ground-view.ts";
import { planId, tileParams } from "../inputs.ts";
import { errorsOf } from "../openapi.ts";
import { type Call, type Reply, type Route, route } from "../route.ts";
import { reliefTile, terrainTile } from "../tiles/ground-tiles.ts";

/** A ground that is there already is answered at once; one being built is waited for this long before 202. */
const PATIENCE_MS = 250;

const LAYERS: Record<string, (scene: Scene, z: number, x: number, y: number) => Promise<Buffer | null>> = {
  terrain: terrainTile,
  hillshade: reliefTile,
};

export function groundRoutes(ctx: Context): Route[] {
  const { desk, engine } = ctx;
  /** Answers 304 when the caller holds the same already. */
  async function tagged(
    call: Pick<Call<unknown, unknown, unknown>, "req">,
    scene: Scene,
    make: () => Reply | Promise<Reply>,
  ): Promise<Reply> {
    const headers = { ETag: groundTag(scene), "Cache-Control": "private, no-cache" };
    const asked = call.req.headers["if-none-match"];
    if (asked?.split(",").some((tag) => tag.trim() === headers.ETag)) return { status: 304, headers };
    const reply = await make();
    return { ...reply, headers: { ...headers, ...reply.headers } };
  }
  const unchanged = { 304: { description: "Not changed" } };
  return [
    route(
      {
        id: "ground",
        method: "get",
        path: "/api/plans/{id}/ground",
        tag: "ground",
        summary: "Extent, heights and data sets of a plan's ground; the first call builds it",
        params: planId,
        answers: {
          200: { description: "The ground", schema: groundSchema },
          202: { description: "Being built; ask again after Retry-After", schema: buildingAnswer },
          ...errorsOf(404, 422),
        },
      },
      async ({ params }) => {
        const found = await desk.peek(params.id, PATIENCE_MS);
        if ("scene" in found) return { body: groundAnswer(engine, found as Ground) };
        return {
          status: 202,
          headers: { "Retry-After": "1" },
          body: { state: "building", step: found.step, done: found.done, total: found.total },
        };
      },
    ),
    route(
      {
        id: "groundTile",
        method: "get",
        path: "/api/plans/{id}/tiles/{layer}/{z}/{x}/{y}.png",
        tag: "ground",
        summary: "256-pixel tiles: `terrain` with heights in the colour channels, `hillshade` as grey relief",
        params: tileParams,
        answers: { 200: { description: "PNG", type: "image/png" }, ...unchanged, ...errorsOf(400, 404, 422) },
      },
      async ({ params, req, signal }) => {
        const make = Object.hasOwn(LAYERS, params.layer) ? LAYERS[params.layer] : undefined;
        if (make === undefined)
          throw new HardstandError("http.not-found", "the ground has no such layer", {
            where: "layer",
            received: params.layer,
            hint: `it has: ${Object.keys(LAYERS).join(", ")}`,
          });
        const { scene } = await desk.get(params.id, undefined, signal);
        return tagged({ req }, scene, async () => {
          const bytes = await make(scene, params.z, params.x, params.y);
          if (bytes === null) throw new HardstandError("http.not-found", "the tile lies outside the plan's ground");
          return { bytes };
        });
      },
    ),
    route(
      {
        id: "contours",
        method: "get",
        path: "/api/plans/{id}/contours",
        tag: "ground",
        summary: "Contour lines of the ground",
        params: planId,
        answers: { 200: { description: "GeoJSON", schema: contourCollection }, ...unchanged, ...errorsOf(404, 422) },
      },
      async ({ params, req, signal }) => {
        const { scene } = await desk.get(params.id, undefined, signal);
        return tagged({ req }, scene, () => ({ body: contoursOf(scene) }));
      },
    ),
    route(
      {
        id: "canopy",
        method: "get",
        path: "/api/plans/{id}/canopy",
        tag: "ground",
        summary: "Outlines of tree cover",
        params: planId,
        answers: { 200: { description: "GeoJSON", schema: canopyCollection }, ...unchanged, ...errorsOf(404, 422) },
      },
      async ({ params, req, signal }) => {
        const { scene } = await desk.get(params.id, undefined, signal);
        return tagged({ req }, scene, () => ({ body: canopyOf(scene) }));
      },
    ),
  ];
}
