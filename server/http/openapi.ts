import type { z } from "zod";
import {
  createDocument,
  type ZodOpenApiObject,
  type ZodOpenApiOperationObject,
  type ZodOpenApiPathsObject,
} from "zod-openapi";
import { errorAnswer } from "../../src/plan/outputs/index.ts";
import type { AnswerSpec, Route } from "./route.ts";

const MEANING: Record<number, string> = {
  400: "The request cannot be understood",
  401: "The token is missing or wrong",
  403: "The request comes from elsewhere",
  404: "There is no such thing",
  409: "It stands against what holds now",
  413: "Too large",
  422: "Understood, but the content has a fault",
  429: "Too much at once; try again after Retry-After",
  507: "It could not be stored",
};

/** The error answers a route may give. */
export const errorsOf = (...statuses: (keyof typeof MEANING)[]): Record<number, AnswerSpec> =>
  Object.fromEntries(statuses.map((status) => [status, { description: MEANING[status]!, schema: errorAnswer }]));

function content(answer: AnswerSpec) {
  if (answer.schema !== undefined && (answer.type ?? "application/json") === "application/json")
    return { "application/json": { schema: answer.schema } };
  if (answer.type === undefined) return undefined;
  return { [answer.type]: answer.schema === undefined ? {} : { schema: answer.schema } };
}

function operation({ spec }: Route): ZodOpenApiOperationObject {
  const responses: ZodOpenApiOperationObject["responses"] = {};
  const answers: Record<number, AnswerSpec> = spec.open ? spec.answers : { ...errorsOf(401), ...spec.answers };
  for (const [status, answer] of Object.entries({ ...answers, ...errorsOf(403) })) {
    const body = content(answer);
    responses[status as `${1 | 2 | 3 | 4 | 5}${string}`] = {
      description: answer.description,
      ...(body === undefined ? {} : { content: body }),
    };
  }
  const result: ZodOpenApiOperationObject = {
    operationId: spec.id,
    summary: spec.summary,
    tags: [spec.tag],
    responses,
    security: spec.open ? [] : [{ cookie: [] }, { bearer: [] }],
  };
  const params: NonNullable<ZodOpenApiOperationObject["requestParams"]> = {};
  if (spec.params !== undefined) params.path = spec.params as z.ZodObject;
  if (spec.query !== undefined) params.query = spec.query as z.ZodObject;
  if (Object.keys(params).length > 0) result.requestParams = params;
  if (spec.headers !== undefined)
    result.parameters = Object.entries(spec.headers).map(([name, description]) => ({
      in: "header" as const,
      name,
      description,
      schema: { type: "string" as const },
    }));
  if (spec.stream !== undefined)
    result.requestBody = {
      required: true,
      content: { [spec.stream]: { schema: { type: "string", format: "binary" } } },
    };
  else if (spec.body !== undefined)
    result.requestBody = { required: true, content: { "application/json": { schema: spec.body } } };
  return result;
}

/** The OpenAPI 3.1 document of the given routes, made from the schemas they are held to. */
export function openApiDocument(routes: readonly Route[], version: string) {
  const paths: ZodOpenApiPathsObject = {};
  for (const route of routes) {
    const item = paths[route.spec.path] ?? {};
    item[route.spec.method] = operation(route);
    paths[route.spec.path] = item;
  }
  const document: ZodOpenApiObject = {
    openapi: "3.1.0",
    info: {
      title: "Hardstand",
      version,
      description:
        "Where to park a communications unit, why there, and how sure that is. Predictions, not promises: not a survey, structural, electrical or RF-safety certificate; local codes and licensed practice win.",
      license: { name: "Apache-2.0", identifier: "Apache-2.0" },
    },
    servers: [{ url: "/" }],
    tags: [
      { name: "service", description: "The service itself" },
      { name: "plans", description: "Plans, their revisions and files" },
      { name: "ground", description: "The ground of a plan, for maps" },
      { name: "runs", description: "Computations as jobs" },
      { name: "spots", description: "Quick answers about one place" },
    ],
    paths,
    components: {
      schemas: { Error: errorAnswer },
      securitySchemes: {
        cookie: { type: "apiKey", in: "cookie", name: "hardstand" },
        bearer: { type: "http", scheme: "bearer" },
      },
    },
  };
  return createDocument(document);
}
