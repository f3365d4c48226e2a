/**
 * Our RxJS operator on the same feed as the plain pipeline. Bench.
 */
import { map } from "rxjs";
import { pace } from "../../lib/reactive/index.js";
import { newTally, type Side } from "../log.js";
import { feedOf } from "./feed.js";
import { benchSettings, countEffects } from "./step.js";

export const operatorSide: Side = {
  name: "our RxJS operator",
  start(log) {
    const tally = newTally();
    const feed = feedOf(log);
    const meter = feed.contacts.pipe(map(() => "contact" as const));
    const controls = { prime$: feed.prime, hold$: feed.hold };
    meter.pipe(pace(benchSettings(), controls, feed.scheduler)).subscribe(({ effects }) => {
      countEffects(tally, effects);
    });
    feed.connect();
    return { tally, runTo: feed.runTo };
  },
};
