/**
 * What is a controller's contact terminal put through? The named scenarios of raw edges. Harness layer.
 */
import { SECOND, type Settings } from "../../lib/pacing/index.js";
import { happens, type Passage } from "./passage.js";
import { type Scenario, tailFor } from "./scenario.js";

export const EDGE_SCENARIOS: readonly Scenario[] = [
  {
    name: "bounce",
    about: "closures that bounce at both ends for nearly as long as the qualifying times allow",
    needs: ["close", "open"],
    shows: ["bounce", "totality"],
    make: ({ settings, times: { easyMicros } }) => [
      {
        passages: [0, 1, 2, 3, 0, 2].flatMap((bounces) => bouncing(settings, bounces, easyMicros)),
        tailMicros: tailFor(settings, easyMicros),
      },
    ],
  },
  {
    name: "stuck-contact",
    about: "a contact that stays closed past the time at which it is told as stuck, then works again",
    needs: ["close", "open"],
    shows: ["bounce", "totality"],
    own: ({ closedMicros }) => ({ stuckMicros: closedMicros + 2 * SECOND }),
    make: ({ settings, times: { easyMicros } }) => {
      const { closedMicros, stuckMicros } = settings;
      const closedFor = stuckMicros > 0 && stuckMicros < 30 * SECOND ? stuckMicros + SECOND : 5 * SECOND;
      const healthy = bouncing(settings, 0, easyMicros);
      return [
        {
          passages: [
            ...healthy,
            happens("close", easyMicros),
            happens("open", closedFor + closedMicros),
            ...healthy,
            ...healthy,
          ],
          tailMicros: tailFor(settings, easyMicros),
        },
      ];
    },
  },
];

/** One contact that bounces so often at each end; what bounces is just too short to qualify, by at least 1 µs. */
export function bouncing(settings: Settings, bounces: number, afterMicros: number): Passage[] {
  const shortClosed = justBelow(settings.closedMicros);
  const shortOpen = justBelow(settings.openMicros);
  const longClosed = 2 * settings.closedMicros + 1_000;
  const can = shortClosed > 0 && shortOpen > 0;
  const passages: Passage[] = [];
  let gap = afterMicros;
  const edge = (kind: "close" | "open", lasting: number): void => {
    passages.push(happens(kind, gap));
    gap = lasting;
  };
  for (let i = 0; can && i < bounces; i++) {
    edge("close", shortClosed);
    edge("open", shortOpen);
  }
  edge("close", longClosed);
  for (let i = 0; can && i < bounces; i++) {
    edge("open", shortOpen);
    // However long it closes again, it is the same contact: it has not been open for long enough.
    edge("close", i % 2 === 0 ? shortClosed : longClosed);
  }
  edge("open", 0);
  return passages;
}

/** A tenth less, so that no clock of whole ticks rounds it up to the whole. */
function justBelow(micros: number): number {
  return Math.floor(micros * 0.9);
}
