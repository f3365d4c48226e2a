/**
 * What of the pacing core does a running controller need? The entry of the smaller of the two ES5 files. Harness layer.
 *
 * Everything but the judging of settings and their words: those are checked where a person sets them, by
 * `validateSettings`, whose answer goes into the controller as JSON. Settings from anywhere else are not sound.
 */
export {
  copyState,
  crc16,
  DARK_UNKNOWN,
  type Effect,
  effectsBetween,
  type Input,
  newState,
  NO_WAKE,
  restoreSnapshot,
  type Settings,
  SNAPSHOT_BYTES,
  type State,
  step,
  stepInPlace,
  takeSnapshot,
  unwrapTicks,
  wakeUntil,
} from "../../../lib/pacing/index.js";
