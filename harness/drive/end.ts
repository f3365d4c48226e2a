/**
 * How does a feed end, and what happens to it when something fails? Harness layer.
 *
 * | what happens | strokes | what is owed | told as | the feed |
 * |---|---|---|---|---|
 * | asked to end: key, SIGINT, SIGTERM, SIGHUP (terminal closed), its time is up | stop at once; one under way is waited for | kept in the journal; fed if it starts again within the grace, else shed as `power` | | ends, status 0 |
 * | so, and the stroke under way is not acknowledged | none after it; it is looked up at the next start | kept in the journal | `not-acknowledged` | ends, status 3 |
 * | reader of its output gone (closed pipe) | as above | as above | | ends, status 2 |
 * | killed (SIGKILL, power cut) | stop with it; the one under way is looked up at the next start | as above | `uncertain-stroke` where nobody can tell | starts again from the journal |
 * | meter lost | stop at once | shed as `inhibit` (`other`) | `meter-lost` | ends, status 3 |
 * | pump lost | stop at once | shed as `inhibit` (`pump`) | `pump-lost` | ends, status 3 |
 * | pump does not acknowledge | stop at once; that stroke is looked up at the next start | shed as `inhibit` (`pump`) | `not-acknowledged` | ends, status 3 |
 * | journal cannot be written | stop at once: none is asked for that is not kept | as it was last kept | `journal` | ends, status 3 |
 * | wall clock set | go on, nothing changes | stays owed | `clock-stepped` | goes on |
 * | machine slept | as after a power cut that long | kept within the grace, else shed as `power` | `suspended` | goes on |
 * | program held up for seconds | none meanwhile; then with their spacing, and prime has ended | kept within the grace, else shed as `still` | `stalled` | goes on |
 * | trip, hold | stop at once | shed under their cause | alarm | goes on, held |
 */
import type { Trouble } from "./status.js";

/** Why a feed has ended. */
export type FeedEnd =
  | { readonly kind: "asked"; readonly why: string }
  | {
      readonly kind: Extract<Trouble["kind"], "meter-lost" | "pump-lost" | "not-acknowledged" | "journal">;
      /** What happened, and how to go on. */
      readonly why: string;
    };

/** Of each end that is a failure, what stops the strokes: so that what was owed is shed under its name. */
export const INHIBIT_OF = {
  "meter-lost": "other",
  "pump-lost": "pump",
  "not-acknowledged": "pump",
} as const;
