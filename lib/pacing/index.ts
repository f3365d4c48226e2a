/**
 * The pacing core: contacts in, stroke commands out. Pure, whole numbers only, imports nothing outside this folder.
 *
 * @module
 */
export { type Effect, effectsBetween, shedBy, standingAlarms } from "./effects.js";
export { INHIBIT_CAUSES, type InhibitCause, type Input, type InputKind, instantOrder } from "./input.js";
export { wakeUntil } from "./drive.js";
export { crc16 } from "./crc16.js";
export { admitStroke, type GuardBucket, type GuardTerms } from "./guard.js";
export {
  DAY,
  HOUR,
  LAST_MICROS,
  type Micros,
  MINUTE,
  NO_WAKE,
  OWED_LIMIT_MAX,
  RATIO_TERM_MAX,
  SECOND,
} from "./limits.js";
export {
  type Cadence,
  type ContactsDuringPrime,
  FULL_STROKE_STATEMENT,
  type Settings,
  type SettingsFault,
  type SettingsInput,
  type SettingsVerdict,
  type StrokeBasis,
} from "./settings.js";
export {
  DARK_UNKNOWN,
  type Restored,
  restoreSnapshot,
  SNAPSHOT_BYTES,
  SNAPSHOT_VERSION,
  type SnapshotRefusal,
  takeSnapshot,
} from "./snapshot.js";
export { type Alarm, ALARMS, copyState, newState, SHED_CAUSES, type ShedCause, type State } from "./state.js";
export { step, stepInPlace, type Stepped, type StrokeMade } from "./step.js";
export { validateSettings } from "./validate.js";
export { type TickBits, unwrapTicks } from "./ticks.js";
