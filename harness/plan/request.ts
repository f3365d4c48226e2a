/**
 * What plan is asked for? Texts by name, from options and a plan file, to valid quantities. Harness layer.
 *
 * Everything is looked at before anything is refused, so that all faults are told at once, each under the name that
 * the user wrote.
 */
import type Fraction from "fraction.js";
import {
  type Dose,
  doseFor,
  exact,
  type Flow,
  type Layout,
  LAYOUT_DEFAULT,
  parseBaffling,
  parsePercent,
  parseStrength,
  type Parsed,
  type PercentBasis,
  type PlanInput,
  type Quantity,
  residualOf,
  type Strength,
  type StrokeSource,
} from "../../lib/dosing/index.js";
import { InputError, type InputFault } from "../files/fault.js";
import {
  isRefused,
  OTHERS,
  type OtherName,
  QUANTITIES,
  type QuantityName,
  readQuantity,
  type TermName,
} from "./terms.js";

/** What was written: texts by name, where they stand, and whether the stroke volume was measured. */
export interface WrittenPlan {
  readonly texts: ReadonlyMap<TermName, string>;
  readonly measured: boolean;
  /** The file that some texts come from, and the line of each. */
  readonly file?: string | undefined;
  readonly lines?: ReadonlyMap<string, number> | undefined;
}

type QuantityOf<N extends QuantityName> = Quantity<Extract<(typeof QUANTITIES)[number], { name: N }>["kind"]>;

/** Reads terms by name and gathers faults. */
class Reader {
  readonly faults: InputFault[] = [];

  constructor(private readonly written: WrittenPlan) {}

  text(name: TermName): string | undefined {
    return this.written.texts.get(name);
  }

  fault(name: TermName, fault: string, mend: string): void {
    const { file, lines } = this.written;
    const line = lines?.get(name);
    const place = line === undefined ? { field: `--${name}` } : { file, line, field: `"${name}"` };
    this.faults.push({ ...place, fault, mend });
  }

  quantity<N extends QuantityName>(name: N): QuantityOf<N> | undefined {
    const text = this.text(name);
    const term = QUANTITIES.find((known) => known.name === name);
    if (text === undefined || term === undefined) return undefined;
    const read = readQuantity(term, text);
    if (!isRefused(read)) return read as QuantityOf<N>;
    this.fault(name, read.fault, read.mend);
    return undefined;
  }

  parsed<T>(name: OtherName, parse: (text: string) => Parsed<T>): T | undefined {
    const text = this.text(name);
    if (text === undefined) return undefined;
    const read = parse(text);
    if (read.ok) return read.value;
    this.fault(name, read.fault, read.mend);
    return undefined;
  }

  number(name: OtherName, from: number, to: number, unit = ""): Fraction | undefined {
    return this.parsed(name, (text) => numberWithin(text, { from, to, unit }));
  }

  /** The basis of a strength in percent; its faults are told with the strength. */
  percent(specificGravity: Fraction | undefined): PercentBasis | undefined {
    const parsed = parsePercent(this.text("strength") ?? "", specificGravity);
    return parsed?.ok === true ? parsed.value : undefined;
  }

  /** The value of a term that must be given; tells that it is missing, unless another fault of it was told. */
  must<T>(name: TermName, value: T | undefined): T | undefined {
    if (this.text(name) === undefined) this.missing(name);
    return value;
  }

  missing(name: TermName): void {
    const example = [...QUANTITIES, ...OTHERS].find((term) => term.name === name)?.example ?? "";
    this.fault(name, "is missing", `give it, for example --${name} "${example}"`);
  }
}

/** Checks what was written; throws an InputError with every fault. */
export function planInputOf(written: WrittenPlan): PlanInput {
  const read = new Reader(written);
  const contactVolume = read.must("contact-volume", read.quantity("contact-volume"));
  const need = needOf(read);
  const specificGravity = read.number("specific-gravity", 1, 1.5);
  const strength = read.must(
    "strength",
    read.parsed("strength", (text) => parseStrength(text, specificGravity)),
  );
  const capPerMinute = read.must("cap", read.number("cap", 0.1, 10_000, "strokes/min"));
  const stroke = strokeOf(read, written.measured, capPerMinute);
  const flows = flowsOf(read);
  const rest = restOf(read, specificGravity);
  if (need && strength && strength.si.lte(need.dose.si)) {
    read.fault(
      "strength",
      "is no stronger than the dose",
      "give the strength of the solution in the tank, not of the water",
    );
  }
  if (
    read.faults.length > 0 ||
    !contactVolume ||
    !need ||
    !strength ||
    !capPerMinute ||
    !stroke ||
    !flows.peak
  ) {
    throw new InputError(read.faults);
  }
  return { contactVolume, ...need, strength, capPerMinute, stroke, ...flows, peak: flows.peak, ...rest };
}

function needOf(read: Reader): { dose: Dose; demand?: Dose } | undefined {
  const dose = read.quantity("dose");
  const demand = read.quantity("demand");
  const residual = read.quantity("residual");
  const told = {
    dose: read.text("dose") !== undefined,
    demand: read.text("demand") !== undefined,
    residual: read.text("residual") !== undefined,
  };
  if (told.dose && told.demand && told.residual) {
    read.fault("dose", "stands beside both --demand and --residual", "give the dose, or demand and residual");
  } else if (dose && demand && demand.si.gte(dose.si)) {
    read.fault("demand", "leaves nothing of the dose", "give a dose above the demand");
  } else if (dose && residual && residual.si.gt(dose.si)) {
    read.fault("residual", "is above the dose", "give a dose that is at least the residual");
  } else if (!told.dose && !told.demand && !told.residual) {
    read.fault("dose", "is missing", 'give --dose "1.2 mg/L", or --demand and --residual');
  } else if (!told.dose && !(told.demand && told.residual)) {
    read.missing(told.demand ? "residual" : "demand");
  } else if (dose) {
    const left = residual ? residualOf(dose, residual) : demand;
    return left ? { dose, demand: left } : { dose };
  } else if (demand && residual) {
    return { dose: doseFor(demand, residual), demand };
  }
  return undefined;
}

function strokeOf(
  read: Reader,
  measured: boolean,
  capPerMinute: Fraction | undefined,
): StrokeSource | undefined {
  const volume = read.quantity("stroke-volume");
  const rate = read.quantity("pump-rate");
  const told = {
    volume: read.text("stroke-volume") !== undefined,
    rate: read.text("pump-rate") !== undefined,
  };
  if (told.volume && told.rate) {
    read.fault("pump-rate", "stands beside --stroke-volume", "give one of them");
  } else if (!told.volume && !told.rate) {
    read.fault("stroke-volume", "is missing", 'give --stroke-volume "0.34 mL", or --pump-rate with --cap');
  } else if (measured && told.rate) {
    read.fault(
      "pump-rate",
      "was not measured by strokes",
      "give the measured --stroke-volume with --measured",
    );
  } else if (volume) {
    return { from: measured ? "measured" : "stated", volume };
  } else if (rate && capPerMinute) {
    return { from: "rated output", rate, capPerMinute };
  }
  return undefined;
}

function flowsOf(read: Reader): { peak?: Flow; typical?: Flow; low?: Flow } {
  const flows = {
    ...kept("peak", read.must("peak", read.quantity("peak"))),
    ...kept("typical", read.quantity("typical")),
    ...kept("low", read.quantity("low")),
  };
  const { peak, typical, low } = flows;
  if (low && typical && low.si.gt(typical.si))
    read.fault("low", "is above the typical flow", "give low ≤ typical ≤ peak");
  if (low && peak && low.si.gt(peak.si))
    read.fault("low", "is above the peak flow", "give low ≤ typical ≤ peak");
  if (typical && peak && typical.si.gt(peak.si)) {
    read.fault("typical", "is above the peak flow", "give low ≤ typical ≤ peak");
  }
  return flows;
}

function restOf(read: Reader, specificGravity: Fraction | undefined): Partial<PlanInput> {
  const cadence = read.parsed("cadence", cadenceOf);
  const largest = read.number("largest", 1, 65_535)?.valueOf();
  if (largest !== undefined && !Number.isInteger(largest))
    read.fault("largest", "is not whole", "write a whole number");
  const stock: Strength | undefined = read.parsed("stock", (text) => parseStrength(text, specificGravity));
  return {
    ...kept("age", read.quantity("age")),
    ...kept("storage", read.quantity("storage-temperature")),
    ...kept("stock", stock),
    ...kept("percent", read.percent(specificGravity)),
    ...kept("strokeSettingPercent", read.number("stroke-setting", 1, 100, "%")?.valueOf()),
    ...kept("tank", read.quantity("tank")),
    ...kept("pH", read.number("ph", 2, 12)?.valueOf()),
    ...kept("temperature", read.quantity("temperature")),
    ...kept("contactTank", read.quantity("contact-tank")),
    ...kept("baffling", read.parsed("baffling", parseBaffling)),
    ...kept("mixingVolume", read.quantity("mixing-volume")),
    terms: {
      ...kept("tolerancePercent", read.number("tolerance", 0, 50, "%")?.valueOf()),
      ...kept("limits", largest === undefined ? undefined : { strokes: largest, contacts: largest }),
      layout: { cadence: cadence ?? "spread", grace: read.quantity("grace") ?? LAYOUT_DEFAULT.grace },
    },
  };
}

function cadenceOf(text: string): Parsed<Layout["cadence"]> {
  if (text === "spread" || text === "prompt") return { ok: true, value: text };
  return { ok: false, fault: `is "${text}"`, mend: "write spread or prompt" };
}

function kept<N extends string, V>(name: N, value: V | undefined): { [key in N]?: V } {
  return value === undefined ? {} : ({ [name]: value } as { [key in N]?: V });
}

interface Bounds {
  readonly from: number;
  readonly to: number;
  readonly unit: string;
}

/** A plain number, with its unit or without, from and to included. */
function numberWithin(text: string, { from, to, unit }: Bounds): Parsed<Fraction> {
  const named = unit === "" ? "" : ` ${unit}`;
  const mend = `write a number from ${from} to ${to}${named === "" ? "" : `, in${named}`}`;
  const bare = text.trim().replace(/\s*(?:%|strokes\/min|strokes per minute|spm)$/i, "");
  if (!/^-?\d+(\.\d+)?$|^-?\.\d+$/.test(bare) || bare.length > 20) {
    return { ok: false, fault: text.trim() === "" ? "is empty" : `is "${text.trim().slice(0, 40)}"`, mend };
  }
  const value = exact(bare);
  const inside = value.gte(exact(from)) && value.lte(exact(to));
  return inside ? { ok: true, value } : { ok: false, fault: `is "${text.trim()}"`, mend };
}
