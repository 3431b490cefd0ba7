// A client of the service: every path, parameter, body and answer is typed by the contract.
import createClient, { type Client } from "openapi-fetch";
import { Webhook } from "standardwebhooks";
import type { components, paths, webhooks } from "./schema.js";

export type Run = components["schemas"]["Run"];
export type Problem = components["schemas"]["Problem"];
export type RunRequest = components["schemas"]["RunRequest"];
export type Told = webhooks["run"]["post"]["requestBody"]["content"]["application/json"];

export function sizerun(baseUrl: string, key: string): Client<paths> {
  return createClient<paths>({ baseUrl, headers: { Authorization: `Bearer ${key}` } });
}

// A refusal, with the places that have to be mended.
export class Refused extends Error {
  constructor(readonly problem: Problem) {
    super([problem.detail, ...(problem.errors ?? []).map((e) => `${e.pointer ?? e.parameter}: ${e.detail}`)].join("; "));
  }
}

// Verifies a webhook over the bytes of its body, and gives what it tells. It throws when the signature
// doesn't hold or the webhook is old.
export function told(secret: string, body: string, headers: Record<string, string>): Told {
  return new Webhook(secret).verify(body, headers) as Told;
}
