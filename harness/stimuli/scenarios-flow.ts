/**
 * What water is a controller put through? The named scenarios of flow. Harness layer.
 */
import { SECOND } from "../../lib/pacing/index.js";
import { contacts } from "./passage.js";
import { EVERYWHERE, FEEDING, one, type Scenario, shortGrace, tailFor } from "./scenario.js";

export const FLOW_SCENARIOS: readonly Scenario[] = [
  {
    name: "steady",
    about: "contacts evenly spaced, with room for their strokes",
    needs: ["contact"],
    shows: EVERYWHERE,
    make: ({ settings, times: { easyMicros, few } }) =>
      one([contacts(2 * few, easyMicros)], tailFor(settings, easyMicros)),
  },
  {
    name: "ramp",
    about: "flow that grows step by step to what the cap can just feed, and falls again",
    needs: ["contact"],
    shows: EVERYWHERE,
    make: ({ settings, times: { easyMicros, fullMicros, few } }) => {
      const third = Math.ceil(few / 3);
      const middle = Math.ceil((easyMicros + fullMicros) / 2);
      const paces = [2 * easyMicros, easyMicros, middle, fullMicros, middle, easyMicros];
      return one(
        paces.map((pace) => contacts(third, pace)),
        tailFor(settings, easyMicros),
      );
    },
  },
  {
    name: "step",
    about: "slow flow, all at once fast, and slow again",
    needs: ["contact"],
    shows: EVERYWHERE,
    make: ({ settings, times: { easyMicros, fullMicros, few } }) => {
      const third = Math.ceil(few / 3);
      const slow = contacts(third, 3 * easyMicros);
      return one([slow, contacts(few, fullMicros), slow], tailFor(settings, 3 * easyMicros));
    },
  },
  {
    name: "peak-above-the-cap",
    about: "more flow than the cap can feed, until the owed limit is reached and passed",
    needs: ["contact"],
    shows: FEEDING,
    own: (settings) => ({ owedLimitStrokes: settings.strokesPerContactMost + 2 }),
    make: ({ settings, times: { easyMicros, hastyMicros, few } }) => {
      const perContact = settings.strokes / settings.contacts;
      // At twice the cap half of what is earned stays owed.
      const peak = Math.min(Math.ceil((2.5 * settings.owedLimitStrokes) / perContact) + few, 20_000);
      return one(
        [contacts(2, easyMicros), contacts(peak, hastyMicros), contacts(3, 2 * easyMicros)],
        tailFor(settings, 2 * easyMicros),
      );
    },
  },
  {
    name: "stop-and-go",
    about: "bursts of flow that stop while strokes are owed, with a grace too short to feed them all",
    needs: ["contact"],
    shows: FEEDING,
    own: (settings) => ({ graceMicros: shortGrace(settings) }),
    make: ({ settings, times: { hastyMicros, few } }) => {
      const pause = Math.min(settings.graceMicros, 10 * SECOND) + SECOND / 2;
      return one(
        [0, 1, 2].map(() => contacts(few, hastyMicros, pause)),
        pause + settings.leastSpacingMicros,
      );
    },
  },
  {
    name: "long-silence",
    about: "flow stops for longer than the grace, then goes on",
    needs: ["contact"],
    shows: FEEDING,
    own: (settings, quick) => (quick ? { graceMicros: shortGrace(settings) } : {}),
    make: ({ settings, times: { easyMicros, hastyMicros, few } }) => {
      const silence = settings.graceMicros + settings.leastSpacingMicros + SECOND / 10;
      return one(
        [contacts(few, hastyMicros), contacts(3, easyMicros, silence), contacts(1, 0, silence)],
        tailFor(settings, easyMicros),
      );
    },
  },
];
