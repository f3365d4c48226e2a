/**
 * How many cases does a property try? So many as its test says, times TALLYSTROKE_TIMES (1 unless set).
 */
const TIMES = Number(process.env["TALLYSTROKE_TIMES"] ?? 1);
if (!(TIMES > 0)) throw new Error("TALLYSTROKE_TIMES is no number above 0. Mend: give 1, 10 or 0.5.");

export function runs(usual: number): number {
  return Math.max(1, Math.round(usual * TIMES));
}
