/**
 * What do an operator, an interlock, a new ratio, the clock and the mains put a controller through? Harness layer.
 */
import { MINUTE, DAY, SECOND, type Settings } from "../../lib/pacing/index.js";
import { contacts, event, happens, lastMicrosOf, type Passage, type Stimulus } from "./passage.js";
import { changed, FEEDING, graceFor, one, type Scenario, shortGrace, tailFor } from "./scenario.js";

export const MODE_SCENARIOS: readonly Scenario[] = [
  {
    name: "contact-storm",
    about: "contacts as fast as they can be given, with a guard that must trip; then a reset",
    needs: ["contact"],
    shows: ["guard", "silence", "cap", "debt", "totality"],
    own: (settings) =>
      settings.guardBudgetStrokes > 0
        ? {}
        : {
            guardBudgetStrokes: settings.strokesPerContactMost + 3,
            guardBurstStrokes: settings.strokesPerContactMost + 3,
            guardPeriodMicros: Math.min(
              20 * (settings.strokesPerContactMost + 3) * settings.leastSpacingMicros,
              DAY,
            ),
          },
    make: ({ settings, times: { hastyMicros, easyMicros, few }, takes }) => {
      const burst = Math.ceil((2 * settings.guardBurstStrokes * settings.contacts) / settings.strokes);
      const after: Passage[] = takes.has("reset")
        ? [happens("reset", SECOND), contacts(few, easyMicros)]
        : [];
      // Long enough for the guard to run out even at the cap.
      const storm = Math.min(Math.max(burst, few), 20_000);
      const rest = Math.min(
        settings.graceMicros,
        settings.guardBurstStrokes * settings.leastSpacingMicros,
        5 * MINUTE,
      );
      return one(
        [contacts(storm, hastyMicros), contacts(2, easyMicros, rest), ...after],
        tailFor(settings, easyMicros),
      );
    },
  },
  {
    name: "prime-in-the-middle",
    about: "prime held for a few strokes while contacts come and strokes are owed",
    needs: ["contact", "prime-on", "prime-off"],
    shows: ["prime", ...FEEDING],
    make: ({ settings, times: { easyMicros, few } }) => {
      const { primeSpacingMicros: spacing } = settings;
      const held = Math.min(Math.ceil(3.5 * spacing), settings.longestPrimeMicros);
      const third = Math.ceil(few / 3);
      const after = Math.ceil(easyMicros / 4);
      return one(
        [
          contacts(third, easyMicros),
          happens("prime-on", after),
          happens("prime-off", held),
          contacts(third, easyMicros, after),
          happens("prime-on", after),
          contacts(2, Math.ceil(held / 3)),
          happens("prime-off", Math.ceil(held / 3)),
          contacts(third, easyMicros, after),
        ],
        tailFor(settings, easyMicros),
      );
    },
  },
  {
    name: "prime-too-long",
    about: "prime held past its longest, with contacts that must then be treated the other way",
    needs: ["contact", "prime-on", "prime-off"],
    shows: ["prime", "cap", "totality"],
    own: (settings, quick) => ({
      contactsDuringPrime: settings.contactsDuringPrime === "earn" ? "ignore" : "earn",
      ...(quick ? { longestPrimeMicros: 4 * settings.primeSpacingMicros } : {}),
    }),
    make: ({ settings, times: { easyMicros, few } }) => {
      const third = Math.ceil(few / 3);
      const quarter = Math.ceil(easyMicros / 4);
      // A key that bounces, or repeats itself, says that it is pressed once more.
      const held = [contacts(2, quarter), happens("prime-on", quarter)];
      const rest = settings.longestPrimeMicros + 3 * settings.primeSpacingMicros - lastMicrosOf(held);
      return one(
        [
          contacts(third, easyMicros),
          happens("prime-on", quarter),
          ...held,
          happens("prime-off", Math.max(rest, quarter)),
          contacts(third, easyMicros, quarter),
        ],
        tailFor(settings, easyMicros),
      );
    },
  },
  {
    name: "hold-and-release",
    about:
      "a hold while strokes are owed, contacts meanwhile, and what comes after; one past the grace, in still water",
    needs: ["contact", "hold-on", "hold-off"],
    shows: ["silence", ...FEEDING],
    own: (settings, quick) => (quick ? { graceMicros: shortGrace(settings) } : {}),
    make: ({ settings, times }) => [
      ...stopped(settings, times, happens("hold-on", 0), happens("hold-off", 0)),
      ...one(
        [
          contacts(Math.ceil(times.few / 3), times.hastyMicros),
          happens("hold-on", Math.ceil(settings.leastSpacingMicros / 4)),
          happens("hold-off", settings.graceMicros + settings.leastSpacingMicros),
        ],
        tailFor(settings, times.easyMicros),
      ),
    ],
  },
  {
    name: "inhibit",
    about:
      "an interlock opens while strokes are owed, a second one meanwhile; either closes first, and water passes",
    needs: ["contact", "inhibit-on", "inhibit-off"],
    shows: ["silence", ...FEEDING],
    make: ({ settings, times }) => {
      const { easyMicros } = times;
      const turn = (kind: "inhibit-on" | "inhibit-off", cause: "tank" | "flow", afterMicros = 0): Passage =>
        event(afterMicros, { kind, cause });
      const quarter = Math.ceil(easyMicros / 4);
      const water = contacts(Math.min(2 * settings.contacts, times.few), quarter);
      const pairs = [
        ["flow", "tank"],
        ["tank", "flow"],
      ] as const;
      return pairs.flatMap(([first, last]) =>
        stopped(settings, times, turn("inhibit-on", "tank"), turn("inhibit-off", last), [
          turn("inhibit-on", "flow", quarter),
          turn("inhibit-off", first, quarter),
          water,
        ]),
      );
    },
  },
  {
    name: "ratio-change",
    about: "other ratios while running, one of them refused for want of confirmation, and back",
    needs: ["contact", "settings"],
    shows: FEEDING,
    make: ({ settings, times: { easyMicros, few } }) => {
      const third = Math.ceil(few / 3);
      const after = Math.ceil(easyMicros / 3);
      const { strokes, contacts: per, largestIncrease } = settings;
      const turn = (m: number, d: number, confirmed: boolean): Passage =>
        event(after, { kind: "settings", settings: atRatio(settings, m, d), confirmed });
      return one(
        [
          contacts(third, easyMicros),
          turn(strokes, per + 1, false),
          contacts(third, easyMicros),
          turn(strokes * (largestIncrease + 2), per, false),
          contacts(third, easyMicros),
          turn(strokes, per, true),
          contacts(third, easyMicros),
        ],
        tailFor(settings, easyMicros),
      );
    },
  },
  {
    name: "counter-wrap",
    about: "the device's clock passes its sign and its end while strokes are owed",
    needs: ["contact"],
    needsStart: true,
    shows: ["time-shift", "cap", "still-water", "totality"],
    make: ({ settings, tickMicros, times: { hastyMicros, few } }) => {
      // More than the cap can feed, so that whenever it wraps a stroke is waiting for its spacing.
      const passages = [contacts(few, hastyMicros)];
      const half = Math.floor(lastMicrosOf(passages) / 2);
      const tailMicros = tailFor(settings, hastyMicros);
      return [2 ** 31, 2 ** 32].map((ticks) => ({
        passages,
        tailMicros,
        startMicros: Math.floor((ticks * tickMicros - half) / tickMicros) * tickMicros,
      }));
    },
  },
  {
    name: "many-contacts",
    about: "more contacts than 16 bits can count, and a dose that must not have drifted by then",
    needs: ["contact"],
    virtualOnly: true,
    plainOnly: true,
    shows: FEEDING,
    make: ({ settings, times: { fullMicros } }) =>
      one([contacts(65_536 + 3 * settings.contacts, fullMicros)], tailFor(settings, fullMicros)),
  },
  {
    name: "power-cycle-at-every-moment",
    about: "the power goes and comes back, each time at another moment between two contacts",
    needs: ["contact", "power-off", "power-on"],
    shows: ["power-cycle", "cap", "balance", "totality"],
    make: ({ settings, times: { easyMicros, few } }) => {
      const rounds = Math.min(Math.max(few, 8), 24);
      const passages = Array.from({ length: rounds }, (_, round): Passage[] => {
        const off = Math.floor((easyMicros * round) / rounds);
        const dark = round % 3 === 0 ? 0 : Math.floor(easyMicros / 10);
        return [
          contacts(1, 0, easyMicros - (round === 0 ? 0 : Math.floor((easyMicros * (round - 1)) / rounds))),
          happens("power-off", off),
          event(dark, { kind: "power-on", darkKnown: round % 2 === 0 }),
        ];
      });
      return one(passages.flat(), tailFor(settings, easyMicros));
    },
  },
];

/** Feed, stop while something is owed, water meanwhile, go on; twice, at different moments. */
function stopped(
  settings: Settings,
  { easyMicros, few }: { readonly easyMicros: number; readonly few: number },
  on: Passage,
  off: Passage,
  meanwhile: readonly Passage[] = [],
): readonly Stimulus[] {
  const third = Math.ceil(few / 3);
  const begin = (passage: Passage, afterMicros: number): Passage => ({ ...passage, afterMicros });
  return one(
    [1, 4]
      .flatMap((moment) => [
        contacts(third, easyMicros),
        // So that something is owed even where a contact's strokes are soon made.
        contacts(3, Math.ceil(easyMicros / 8)),
        begin(on, Math.floor((easyMicros * moment) / 9)),
        contacts(2, Math.ceil(easyMicros / 2)),
        ...meanwhile,
        begin(off, easyMicros),
      ])
      .concat(contacts(third, easyMicros)),
    tailFor(settings, easyMicros),
  );
}

function atRatio(settings: Settings, strokes: number, per: number): Settings {
  const most = Math.ceil(strokes / per);
  return changed(settings, {
    strokes,
    contacts: per,
    owedLimitStrokes: Math.max(settings.owedLimitStrokes, most),
    graceMicros: Math.max(settings.graceMicros, graceFor(most, settings)),
  });
}
