import { z } from "zod";
import { HardstandError } from "../../../src/errors/index.ts";
import { filesAnswer, uploadedFile } from "../../../src/plan/http.ts";
import type { Context } from "../context.ts";
import { planId } from "../inputs.ts";
import { errorsOf } from "../openapi.ts";
import { type Route, route } from "../route.ts";

export function fileRoutes(ctx: Context): Route[] {
  const tooLarge = (bytes: number) =>
    new HardstandError("http.too-large", "the file is larger than this service takes", {
      where: "body",
      received: `${bytes} bytes or more; at most ${ctx.maxUploadBytes}`,
      hint: "cut the raster to the plan's surroundings",
    });
  return [
    route(
      {
        id: "listFiles",
        method: "get",
        path: "/api/plans/{id}/files",
        tag: "plans",
        summary: "Files beside a plan",
        params: planId,
        answers: { 200: { description: "Files", schema: filesAnswer }, ...errorsOf(404) },
      },
      async ({ params }) => ({ body: await ctx.store.files(params.id) }),
    ),
    route(
      {
        id: "putFile",
        method: "post",
        path: "/api/plans/{id}/files",
        tag: "plans",
        summary: "Puts a raster or a GeoJSON file beside a plan, as a stream",
        params: planId,
        query: z.strictObject({
          name: z.string().min(1, "the file needs a name").max(200),
          replace: z.enum(["0", "1"]).optional(),
        }),
        stream: "application/octet-stream",
        answers: { 201: { description: "Stored", schema: uploadedFile }, ...errorsOf(400, 404, 409, 413, 507) },
      },
      async ({ params, query, req, signal }) => {
        const announced = Number(req.headers["content-length"] ?? 0);
        if (announced > ctx.maxUploadBytes) throw tooLarge(announced);
        const upload = await ctx.store.upload(params.id, query.name);
        let bytes = 0;
        try {
          for await (const chunk of req as AsyncIterable<Buffer>) {
            bytes += chunk.byteLength;
            if (bytes > ctx.maxUploadBytes) throw tooLarge(bytes);
            await upload.write(chunk);
          }
          // A line cut short ends the stream without an error on some paths: the announced length must be there.
          if (signal.aborted || (announced > 0 && bytes !== announced))
            throw new HardstandError("http.bad-request", "the upload was broken off", { where: "body" });
          const kept = await upload.keep(query.replace === "1");
          ctx.desk.forget(params.id);
          return { status: 201, body: { name: query.name, ...kept } };
        } catch (thrown) {
          await upload.drop();
          throw thrown;
        }
      },
    ),
  ];
}
