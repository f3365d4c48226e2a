/**
 * How much solution does one stroke deliver? Dosing layer.
 *
 * Either from the pump's rated output at its full stroke rate and full manual stroke setting, or from a drawdown: the
 * volume drawn from a cylinder in a counted number of strokes, at the setting in use. Output is not proportional to the
 * manual stroke setting in any way that can be relied on, so a setting below full is never scaled: it is measured.
 */
import type Fraction from "fraction.js";
import { type Flow, fromSi, type Volume } from "./quantity.js";

/** Where a stroke volume comes from. */
export type StrokeSource =
  | { readonly from: "rated output"; readonly rate: Flow; readonly capPerMinute: Fraction }
  | { readonly from: "stated"; readonly volume: Volume }
  | { readonly from: "measured"; readonly volume: Volume };

/** Stroke volume from the output at full rate: rate / strokes per minute, exact. The cap is above zero. */
export function ratedStrokeVolume(rate: Flow, capPerMinute: Fraction): Volume {
  return fromSi("volume", rate.si.mul(60).div(capPerMinute));
}

/** Stroke volume from a drawdown: volume drawn / strokes counted, a whole number of at least 1. */
export function drawdownStrokeVolume(drawn: Volume, strokes: number): Volume {
  return fromSi("volume", drawn.si.div(strokes));
}

/** Output at a stroke rate: stroke volume · strokes per minute. */
export function pumpOutput(strokeVolume: Volume, strokesPerMinute: Fraction): Flow {
  return fromSi("flow", strokeVolume.si.mul(strokesPerMinute).div(60));
}

/** Setting of the feed for a wanted output, in percent of the greatest: desired / maximum · 100. */
export function settingPercent(wanted: Flow, greatest: Flow): Fraction {
  return wanted.si.div(greatest.si).mul(100);
}

/** The stroke volume of a source. */
export function strokeVolumeOf(source: StrokeSource): Volume {
  return source.from === "rated output" ? ratedStrokeVolume(source.rate, source.capPerMinute) : source.volume;
}

/**
 * Whether the stroke volume can be trusted at the manual stroke setting in use: always if measured at it, otherwise
 * only at full. Returns what to warn of, or undefined.
 * @param settingPercentOfFull manual stroke setting, above 0 to 100 percent.
 */
export function strokeSettingWarning(source: StrokeSource, settingPercentOfFull: number): string | undefined {
  if (source.from === "measured" || settingPercentOfFull === 100) return undefined;
  return (
    `the manual stroke setting is ${settingPercentOfFull} % of full, but the stroke volume is the pump's at full: ` +
    "no correction is made, because output does not follow the setting reliably. Set the stroke to full, or measure " +
    "millilitres per stroke by a drawdown at the setting in use"
  );
}
