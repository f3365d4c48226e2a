/**
 * Who asks the worker, and when? One request under way, and of those that wait only the latest. Harness layer, page.
 */
import type { Request, Response } from "./worker.js";
import LabWorker from "./worker.js?worker&inline";

/** Takes requests as fast as they come; tells the answer to the latest that could be worked out. */
export function newReckoner(tell: (response: Response) => void): (request: Request) => void {
  const worker = new LabWorker();
  let isBusy = false;
  let waiting: Request | undefined;
  const send = (request: Request): void => {
    isBusy = true;
    worker.postMessage(request);
  };
  worker.addEventListener("message", ({ data }: MessageEvent<Response>) => {
    isBusy = false;
    if (waiting !== undefined) {
      send(waiting);
      waiting = undefined;
    }
    tell(data);
  });
  return (request) => {
    if (isBusy) waiting = request;
    else send(request);
  };
}
