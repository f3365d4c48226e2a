/**
 * What dose leaves the residual that is wanted? Dosing layer.
 *
 * dose = demand + residual. Source: Military Water Supply, Subcourse MD0160, US Army Medical Department Center and
 * School, batch chlorination. The demand must be measured on the water itself, at its temperature and contact time.
 */
import { type Dose, fromSi } from "./quantity.js";

/** Dose that meets a demand and leaves a residual. */
export function doseFor(demand: Dose, residual: Dose): Dose {
  return fromSi("dose", demand.si.add(residual.si));
}

/** Residual left by a dose, never below zero. */
export function residualOf(dose: Dose, demand: Dose): Dose {
  return fromSi("dose", dose.si.gt(demand.si) ? dose.si.sub(demand.si) : demand.si.mul(0));
}

/** Demand shown by a dose and the residual it left, never below zero. */
export function demandOf(dose: Dose, residual: Dose): Dose {
  return residualOf(dose, residual);
}
