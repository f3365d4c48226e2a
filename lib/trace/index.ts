/**
 * The one trace format: timed events that went into a controller and came out of it.
 *
 * @module
 */
export { accountsOf } from "./accounts.js";
export { detailOf } from "./detail.js";
export {
  EVENT_KINDS,
  type EventKind,
  type Fault,
  isEventKind,
  isStimulus,
  isStimulusKind,
  type Power,
  type ResponseEvent,
  type Status,
  type StimulusEvent,
  type TraceEvent,
} from "./event.js";
export { type InstantSorter, instantSorter } from "./instant.js";
export {
  formatFault,
  formatRow,
  readHeader,
  type ReadRow,
  type RowReader,
  TRACE_HEADER,
  type TraceFault,
} from "./rows.js";
export { formatSeconds, parseSeconds } from "./time.js";
