/**
 * How is time let go on? In steps where the device's clock stands still, by waiting where it runs. Harness layer.
 */
import type { Micros } from "../../lib/pacing/index.js";
import type { LinkRun } from "./link-run.js";
import { LinkFault } from "./link-fault.js";
import type { RoundTrip } from "./offset.js";
import type { BenchClock } from "./transport.js";

/** Longest time between two questions for the time on a free clock. */
const POLL_MICROS: Micros = 3_000_000;
/** Shortest wait for something to happen on a free clock. */
const LEAST_WAIT_MICROS: Micros = 1_000;
/** How often a free clock is read at the start, so that the offset rests on a short round trip. */
const FIRST_READINGS = 5;
/** By what part a free clock may run fast or slow: with one further off no serial line would work. */
const RATE_OFF_MOST = 0.05;

/** Plays a run on a clock that stands still but when told to go. */
export async function playStepped(run: LinkRun): Promise<void> {
  const quarter = Math.floor(run.time.rangeMicros / 4);
  for (
    let nowMicros = 0;
    nowMicros < run.untilMicros || run.asked.length > 0 || run.nextMicros !== undefined;
  ) {
    const farMicros = nowMicros + quarter;
    await run.fill(farMicros);
    const last = run.asked.at(-1);
    const isFull = run.nextMicros !== undefined && run.nextMicros <= farMicros;
    const aimMicros = isFull && last !== undefined ? run.momentOf(last.event) : run.untilMicros;
    nowMicros = Math.max(nowMicros, Math.min(aimMicros, farMicros));
    await run.go(nowMicros);
  }
}

/** Plays a run on a clock that runs by itself; answers the round trips of its time. */
export async function playFree(run: LinkRun, clock: BenchClock, trips: RoundTrip[]): Promise<void> {
  const { rangeMicros } = run.time;
  const pollMicros = Math.min(POLL_MICROS, Math.floor(rangeMicros / 8));
  const read = async (): Promise<void> => {
    const askedMicros = clock.nowMicros();
    const deviceMicros = await run.askTime();
    trips.push({ askedMicros, answeredMicros: clock.nowMicros(), deviceMicros });
    checkRate(trips);
  };
  for (let i = 0; i < FIRST_READINGS; i++) await read();
  for (;;) {
    const last = trips.at(-1);
    if (last === undefined) throw new Error("no reading of a clock that was read");
    const sinceMicros = clock.nowMicros() - last.answeredMicros;
    const nowMicros = last.deviceMicros + sinceMicros;
    const isOver = run.nextMicros === undefined && run.asked.length === 0;
    if (isOver && last.deviceMicros >= run.untilMicros) return;
    if (sinceMicros >= pollMicros || (isOver && nowMicros >= run.untilMicros)) {
      await read();
      const overdue = run.asked[0];
      if (overdue !== undefined && run.time.nowMicros > run.momentOf(overdue.event) + POLL_MICROS) {
        throw new LinkFault("nonsense", `request ${overdue.number} was accepted and not done at its time`);
      }
      continue;
    }
    await run.fill(nowMicros + Math.floor(rangeMicros / 4));
    const untilPoll = pollMicros - sinceMicros;
    const untilEnd = isOver ? run.untilMicros - nowMicros : untilPoll;
    await run.session.pause(Math.max(LEAST_WAIT_MICROS, Math.min(untilPoll, untilEnd)));
  }
}

/** Throws a LinkFault where the clock stands still or runs at a wild rate: a run on it would never end, or tell nothing. */
function checkRate(trips: readonly RoundTrip[]): void {
  const [first] = trips;
  const last = trips.at(-1);
  if (first === undefined || last === undefined) return;
  const leastMicros = last.askedMicros - first.answeredMicros;
  const mostMicros = last.answeredMicros - first.askedMicros;
  const deviceMicros = last.deviceMicros - first.deviceMicros;
  if (leastMicros < POLL_MICROS / 2) return;
  if (deviceMicros >= leastMicros * (1 - RATE_OFF_MOST) && deviceMicros <= mostMicros * (1 + RATE_OFF_MOST))
    return;
  const seconds = (micros: Micros): string => (micros / 1e6).toFixed(1);
  throw new LinkFault(
    "nonsense",
    `its clock went on by ${seconds(deviceMicros)} s in ${seconds(leastMicros)} s`,
    "look at the device's clock: its rate is not what the greeting says",
  );
}
