/**
 * Where is a day reckoned, so that the page never waits? In a worker, one request at a time. Harness layer, page.
 */
import type { Texts } from "../fields.js";
import { type Memory, reckon, type Reckoning } from "../reckon.js";
import type { Press } from "../state.js";

export interface Request {
  readonly texts: Texts;
  readonly presses: readonly Press[];
}

export interface Response {
  readonly request: Request;
  readonly reckoning: Reckoning;
  /** How long it took, ms. */
  readonly tookMillis: number;
}

const memory: Memory = {};

addEventListener("message", ({ data }: MessageEvent<Request>) => {
  const start = performance.now();
  const reckoning = reckon(data.texts, data.presses, memory);
  postMessage({ request: data, reckoning, tookMillis: performance.now() - start } satisfies Response);
});
