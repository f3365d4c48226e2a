/**
 * Which day and time of day was it, where the feed stood? Harness layer, pure.
 *
 * The label is the wall clock's, which may be set at any moment; nothing is measured by it.
 */

/** A wall-clock label as people write it. */
export interface LocalLabel {
  /** `2026-11-26` */
  readonly date: string;
  /** `17:05:09` */
  readonly time: string;
}

const MINUTE_MS = 60_000;

/** Labels in a time zone; UTC where this machine does not know the zone. */
export function labelsIn(zone: string): (wallMs: number) => LocalLabel {
  const format = formatIn(zone);
  // Every zone is whole minutes from UTC nowadays, so a minute is worked out once.
  let minute = NaN;
  let known = { date: "", time: "" };
  return (wallMs) => {
    const at = Math.floor(wallMs / MINUTE_MS);
    if (at !== minute) {
      const parts = Object.fromEntries(
        format.formatToParts(at * MINUTE_MS).map(({ type, value }) => [type, value]),
      );
      const { year = "", month = "", day = "", hour = "", minute: minutes = "" } = parts;
      known = { date: `${year.padStart(4, "0")}-${month}-${day}`, time: `${hour}:${minutes}` };
      minute = at;
    }
    const seconds = String(Math.floor((wallMs - at * MINUTE_MS) / 1_000)).padStart(2, "0");
    return { date: known.date, time: `${known.time}:${seconds}` };
  };
}

function formatIn(zone: string): Intl.DateTimeFormat {
  const fields = {
    year: "numeric",
    month: "2-digit",
    day: "2-digit",
    hour: "2-digit",
    minute: "2-digit",
  } as const;
  const make = (timeZone: string): Intl.DateTimeFormat =>
    new Intl.DateTimeFormat("en-US", { ...fields, hourCycle: "h23", timeZone });
  try {
    return make(zone);
  } catch {
    return make("UTC");
  }
}
