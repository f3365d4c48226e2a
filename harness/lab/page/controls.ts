/**
 * How are the fields shown and changed? A text for each, a slider beside it, its complaint below it. Harness layer, page.
 *
 * What is written stays as written, sound or not; a slider writes a round number in the unit that was used.
 */
import {
  exactIn,
  numberIn,
  parseQuantity,
  parseStrength,
  showNumber,
  splitWritten,
} from "../../../lib/dosing/index.js";
import { type Field, type FieldName, FIELDS, GROUPS, type Texts } from "../fields.js";
import type { Offer } from "../reckon.js";
import type { FieldFault } from "../read.js";
import { action, byId, make } from "./dom.js";

export interface Controls {
  /** Shows what is written. */
  readonly show: (texts: Texts) => void;
  readonly complain: (faults: readonly FieldFault[]) => void;
  readonly offer: (offers: readonly Offer[], ratio: string) => void;
}

type Change = (name: FieldName, text: string) => void;

/** Steps of a slider from end to end. */
const SLIDER_STEPS = 200;

interface Shown {
  readonly show: (text: string) => void;
  readonly input: HTMLInputElement | HTMLSelectElement;
  readonly complaint: HTMLElement;
}

export function newControls(change: Change): Controls {
  const shown = new Map<FieldName, Shown>();
  const offers = make("p", { class: "offers", id: "offers" });
  byId("controls").append(
    ...GROUPS.map((group) => {
      const rows = FIELDS.filter((field) => field.group === group).map((field) => {
        const { row, ...parts } = rowOf(field, change);
        shown.set(field.name, parts);
        if (field.name === "ratio") row.append(offers);
        return row;
      });
      return make("fieldset", {}, make("legend", {}, group), ...rows);
    }),
  );
  return {
    show(texts) {
      for (const [name, { show }] of shown) show(texts[name]);
    },
    complain(faults) {
      for (const [name, { input, complaint }] of shown) {
        const fault = faults.find(({ field }) => field === name);
        input.setAttribute("aria-invalid", String(fault !== undefined));
        complaint.textContent = fault === undefined ? "" : complaintOf(fault);
      }
    },
    offer(list, ratio) {
      offers.replaceChildren("Nearest to the dose: ", ...list.map((one) => offerButton(one, ratio, change)));
    },
  };
}

function complaintOf({ fault, mend }: FieldFault): string {
  const sentence = `It ${fault}`.replace(/^It "/, "“").replace(/^(“[^"]*)"/, "$1”");
  return `${sentence}. ${mend.charAt(0).toUpperCase()}${mend.slice(1)}. Until then the figure shows the last that worked.`;
}

function offerButton({ ratio, errorPercent, keepsUp }: Offer, set: string, change: Change): HTMLElement {
  const off =
    Math.abs(errorPercent) < 1e-9
      ? "exact"
      : `${errorPercent > 0 ? "+" : "−"}${showNumber(Math.abs(errorPercent), 2)} %`;
  const button = action(`${ratio} (${off}${keepsUp ? "" : ", too fast for the cap"})`, () => {
    change("ratio", ratio);
  });
  if (ratio === set) button.setAttribute("aria-current", "true");
  return button;
}

function rowOf(field: Field, change: Change): Shown & { readonly row: HTMLElement } {
  const { name, label, about } = field;
  const complaint = make("p", { class: "complaint", id: `${name}-complaint`, role: "alert" });
  const help = make("p", { class: "about", id: `${name}-about` }, about);
  const described = { id: name, "aria-describedby": `${name}-about ${name}-complaint` };
  const input = field.choices === undefined ? textInput(described) : choiceInput(field, described);
  const slider = field.slider && sliderOf(field, field.slider);
  input.addEventListener("input", () => {
    slider?.show(input.value);
    change(name, input.value);
  });
  slider?.input.addEventListener("input", () => {
    input.value = slider.text(input.value);
    slider.show(input.value);
    change(name, input.value);
  });
  const row = make(
    "div",
    { class: "field" },
    make("label", { for: name }, label),
    input,
    ...(slider === undefined ? [] : [slider.input]),
    help,
    complaint,
  );
  const show = (text: string): void => {
    if (input.value !== text) put(input, text);
    slider?.show(text);
  };
  return { row, show, input, complaint };
}

function textInput(attributes: { readonly [name: string]: string }): HTMLInputElement {
  return make("input", {
    ...attributes,
    type: "text",
    autocomplete: "off",
    spellcheck: "false",
    maxlength: "60",
  });
}

function choiceInput(
  { choices = [] }: Field,
  attributes: { readonly [name: string]: string },
): HTMLSelectElement {
  return make(
    "select",
    attributes,
    ...choices.map(({ word, shown }) => make("option", { value: word }, shown)),
  );
}

/** A word that is not to choose from is shown all the same, so that it is not lost. */
function put(input: HTMLInputElement | HTMLSelectElement, text: string): void {
  if (input instanceof HTMLSelectElement && ![...input.options].some(({ value }) => value === text)) {
    input.append(make("option", { value: text }, text));
  }
  input.value = text;
}

function sliderOf(
  { name, label }: Field,
  { unit, from, to }: NonNullable<Field["slider"]>,
): {
  readonly input: HTMLInputElement;
  readonly show: (text: string) => void;
  readonly text: (before: string) => string;
} {
  const input = make("input", {
    type: "range",
    id: `${name}-slider`,
    min: "0",
    max: String(SLIDER_STEPS),
    "aria-label": `${label}, slider`,
  });
  const valueOf = (text: string): number | undefined => amountIn(name, text, unit);
  return {
    input,
    show(text) {
      const value = valueOf(text);
      if (value !== undefined)
        input.value = String((SLIDER_STEPS * Math.log(value / from)) / Math.log(to / from));
      input.setAttribute("aria-valuetext", text);
    },
    text(before) {
      const wanted = from * (to / from) ** (Number(input.value) / SLIDER_STEPS);
      const written = splitWritten(before);
      const now = valueOf(before);
      if (unit === "" || !written.ok || now === undefined || written.value.amount.equals(0)) {
        return `${showNumber(wanted, 2)} ${unit}`.trim();
      }
      // In the unit that was used: as many of them as make up what is wanted.
      return `${showNumber((wanted / now) * written.value.amount.valueOf(), 2)} ${written.value.unit}`;
    },
  };
}

/** How many `unit` a text says; undefined if it says nothing sound. */
function amountIn(name: FieldName, text: string, unit: string): number | undefined {
  if (unit === "") return Number(text) > 0 ? Number(text) : undefined;
  if (name === "strength") {
    const strength = parseStrength(text);
    return strength.ok ? exactIn(strength.value, unit).valueOf() : undefined;
  }
  const kind = unit === "s" ? "duration" : unit === "L/min" ? "flow" : unit === "mg/L" ? "dose" : "volume";
  const read = parseQuantity(kind, text);
  return read.ok ? numberIn(read.value, unit) : undefined;
}
