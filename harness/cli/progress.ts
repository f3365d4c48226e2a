/**
 * How far is it? A bar on standard error, for people only and for long logs only. Harness layer.
 */
import { SingleBar } from "cli-progress";

/** Logs below this length are read before a bar could be seen, in bytes. */
const LONG_BYTES = 4_000_000;
const MEGABYTE = 1_000_000;

export interface Progress {
  readonly add: (bytes: number) => void;
  stop(): void;
}

/** Starts a bar once the log is known to be long; `totalBytes` is undefined where it cannot be known. */
export function startProgress(totalBytes: number | undefined, quiet: boolean): Progress {
  if (quiet || !process.stderr.isTTY || (totalBytes !== undefined && totalBytes < LONG_BYTES)) {
    return { add: () => undefined, stop: () => undefined };
  }
  const format =
    totalBytes === undefined
      ? "  {megabytes} MB read"
      : "  [{bar}] {percentage} % of {megabytes} MB, {eta_formatted} left";
  const bar = new SingleBar({ format, stream: process.stderr, clearOnComplete: true });
  let read = 0;
  let started = false;
  return {
    add(bytes) {
      read += bytes;
      if (!started && (totalBytes !== undefined || read >= LONG_BYTES)) {
        bar.start(totalBytes ?? 0, 0, { megabytes: Math.round((totalBytes ?? read) / MEGABYTE) });
        started = true;
      }
      if (started) bar.update(read, { megabytes: Math.round((totalBytes ?? read) / MEGABYTE) });
    },
    stop() {
      if (started) bar.stop();
    },
  };
}
