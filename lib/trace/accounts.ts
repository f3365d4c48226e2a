/**
 * How do a pacer's accounts stand in a trace? Trace layer.
 */
import type { State } from "../pacing/index.js";
import type { Status } from "./event.js";

/** The accounts after the last step, as of its time. */
export function accountsOf(s: Readonly<State>): Status {
  return {
    kind: "status",
    atMicros: s.nowMicros,
    earned: s.earned,
    paced: s.paced,
    primed: s.primed,
    owed: s.owed,
    shed: s.shedLimit + s.shedStill + s.shedHold + s.shedInhibit + s.shedTrip + s.shedPower,
    remainder: s.remainder,
  };
}
