/**
 * The gallery of faulty controllers: mistakes that firmware really makes, each with the law that must name it. Test support.
 */
import type { Mistake } from "./mistake.js";
import { MODE_MISTAKES } from "./mistakes-modes.js";
import { RATIO_MISTAKES } from "./mistakes-ratio.js";
import { STROKE_MISTAKES } from "./mistakes-strokes.js";

export const GALLERY: readonly Mistake[] = [...RATIO_MISTAKES, ...STROKE_MISTAKES, ...MODE_MISTAKES];
