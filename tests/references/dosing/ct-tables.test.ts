/**
 * Do the CT tables read as printed, every cell, and are they sound against what was published beside them?
 *
 * The figures here were set down apart from the library's: 0.5, 25 and parts of 5 and 20 °C from a public restatement
 * of US EPA 815-R-20-003 (2020), Table B-1, the rest from a public transcription of the same table, which agrees with
 * the restatement in every cell they share.
 */
import { expect, test } from "vitest";
import {
  BAFFLING,
  ctAchieved,
  giardiaCt,
  giardiaCtRegression,
  logInactivation,
  shareInactivated,
  t10,
  virusCt,
} from "../../../lib/dosing/contact-time.js";
import { exactIn, numberIn, type Parsed, quantity } from "../../../lib/dosing/quantity.js";

// 3-log Giardia by free chlorine, mg·min/L. Rows: mg/L of chlorine; columns: pH 6, 6.5, 7, 7.5, 8, 8.5, 9.
const GIARDIA = `
0.5 °C
0.4  137 163 195 237 277 329 390
0.6  141 168 200 239 286 342 407
0.8  145 172 205 246 295 354 422
1.0  148 176 210 253 304 365 437
1.2  152 180 215 259 313 376 451
1.4  155 184 221 266 321 387 464
1.6  157 189 226 273 329 397 477
1.8  162 193 231 279 338 407 489
2.0  165 197 236 286 346 417 500
2.2  169 201 242 297 353 426 511
2.4  172 205 247 298 361 435 522
2.6  175 209 252 304 368 444 533
2.8  178 213 257 310 375 452 543
3.0  181 217 261 316 382 460 552
5 °C
0.4   97 117 139 166 198 236 279
0.6  100 120 143 171 204 244 291
0.8  103 122 146 175 210 252 301
1.0  105 125 149 179 216 260 312
1.2  107 127 152 183 221 267 320
1.4  109 130 155 187 227 274 329
1.6  111 132 158 192 232 281 337
1.8  114 135 162 196 238 287 345
2.0  116 138 165 200 243 294 353
2.2  118 140 169 204 248 300 361
2.4  120 143 172 209 253 306 368
2.6  122 146 175 213 258 312 375
2.8  124 148 178 217 263 318 382
3.0  126 151 182 221 268 324 389
10 °C
0.4   73  88 104 125 149 177 209
0.6   75  90 107 128 153 183 218
0.8   78  92 110 131 158 189 226
1.0   79  94 112 134 162 195 234
1.2   80  95 114 137 166 200 240
1.4   82  98 116 140 170 206 247
1.6   83  99 119 144 174 211 253
1.8   86 101 122 147 179 215 259
2.0   87 104 124 150 182 221 265
2.2   89 105 127 153 186 225 271
2.4   90 107 129 157 190 230 276
2.6   92 110 131 160 194 234 281
2.8   93 111 134 163 197 239 287
3.0   95 113 137 166 201 243 292
15 °C
0.4   49  59  70  83  99 118 140
0.6   50  60  72  86 102 122 146
0.8   52  61  73  88 105 126 151
1.0   53  63  75  90 108 130 156
1.2   54  64  76  92 111 134 160
1.4   55  65  78  94 114 137 165
1.6   56  66  79  96 116 141 169
1.8   57  68  81  98 119 144 173
2.0   58  69  83 100 122 147 177
2.2   59  70  85 102 124 150 181
2.4   60  72  86 105 127 153 184
2.6   61  73  88 107 129 156 188
2.8   62  74  89 109 132 159 191
3.0   63  76  91 111 134 162 195
20 °C
0.4   36  44  52  62  74  89 105
0.6   38  45  54  64  77  92 109
0.8   39  46  55  66  79  95 113
1.0   39  47  56  67  81  98 117
1.2   40  48  57  69  83 100 120
1.4   41  49  58  70  85 103 123
1.6   42  50  59  72  87 105 126
1.8   43  51  61  74  89 108 129
2.0   44  52  62  75  91 110 132
2.2   44  53  63  77  93 113 135
2.4   45  54  65  78  95 115 138
2.6   46  55  66  80  97 117 141
2.8   47  56  67  81  99 119 143
3.0   47  57  68  83 101 122 146
25 °C
0.4   24  29  35  42  50  59  70
0.6   25  30  36  43  51  61  73
0.8   26  31  37  44  53  63  75
1.0   26  31  37  45  54  65  78
1.2   27  32  38  46  55  67  80
1.4   27  33  39  47  57  69  82
1.6   28  33  40  48  58  70  84
1.8   29  34  41  49  60  72  86
2.0   29  35  41  50  61  74  88
2.2   30  35  42  51  62  75  90
2.4   30  36  43  52  63  77  92
2.6   31  37  44  53  65  78  94
2.8   31  37  45  54  66  80  96
3.0   32  38  46  55  67  81  97
`;
const PH = [6, 6.5, 7, 7.5, 8, 8.5, 9];

interface Cell {
  readonly celsius: number;
  readonly chlorine: number;
  readonly pH: number;
  readonly printed: number;
}

function giardiaCells(): Cell[] {
  const cells: Cell[] = [];
  let celsius = NaN;
  for (const line of GIARDIA.trim().split("\n")) {
    const words = line.trim().split(/\s+/);
    if (words[1] === "°C") celsius = Number(words[0]);
    else
      PH.forEach((pH, at) =>
        cells.push({ celsius, chlorine: Number(words[0]), pH, printed: Number(words[at + 1]) }),
      );
  }
  return cells;
}

// Viruses by free chlorine, mg·min/L, at 0.5, 5, 10, 15, 20, 25 °C. Guidance Manual for Compliance with the Filtration
// and Disinfection Requirements, US EPA, 1991, Table E-7, by a public transcription; 4-log also US EPA 815-R-20-003,
// 2020, Table B-2; 6 at 10 °C also Oregon Health Authority, 2020, and Washington DOH 331-343, 2011.
const VIRUS_COLUMNS = [0.5, 5, 10, 15, 20, 25];
const VIRUSES = [
  { log: 2, pH: 7, printed: [6, 4, 3, 2, 1, 1] },
  { log: 3, pH: 7, printed: [9, 6, 4, 3, 2, 1] },
  { log: 4, pH: 7, printed: [12, 8, 6, 4, 3, 2] },
  { log: 2, pH: 10, printed: [45, 30, 22, 15, 11, 7] },
  { log: 3, pH: 10, printed: [66, 44, 33, 22, 16, 11] },
  { log: 4, pH: 10, printed: [90, 60, 45, 30, 22, 15] },
] as const;

const celsiusOf = (celsius: number) => quantity("temperature", celsius, "degC");
const mgPerLitre = (amount: number) => quantity("dose", amount, "mg/L");
const conditions = (celsius: number, pH: number, chlorine: number) => ({
  temperature: celsiusOf(celsius),
  pH,
  residual: mgPerLitre(chlorine),
});
const sound = <T>(parsed: Parsed<T>): T => {
  if (!parsed.ok) throw new Error(parsed.fault);
  return parsed.value;
};
const giardia = (log: number, celsius: number, pH: number, chlorine: number): number =>
  numberIn(sound(giardiaCt(log, conditions(celsius, pH, chlorine))).required, "mg min/L");
const viruses = (log: 2 | 3 | 4, celsius: number, pH: number): number =>
  numberIn(sound(virusCt(log, { temperature: celsiusOf(celsius), pH })).required, "mg min/L");

test("all 588 cells of the Giardia table read as printed", () => {
  const cells = giardiaCells();
  expect(cells.length).toBe(588);
  expect(
    cells.filter(({ celsius, pH, chlorine, printed }) => giardia(3, celsius, pH, chlorine) !== printed),
  ).toEqual([]);
});

test("all 36 cells of the virus table read as printed", () => {
  const wrong = VIRUSES.flatMap(({ log, pH, printed }) =>
    printed.filter((ct, at) => viruses(log, VIRUS_COLUMNS[at] as number, pH) !== ct),
  );
  expect(wrong).toEqual([]);
});

test("the regression of Smith et al. (1995) lies 0 to 18 % above the table in every cell, and never below", () => {
  // Two publications of one agency that do not agree: the table rounds fitted data cell by cell, the regression was
  // drawn so as to be safe. Both stand; a plan reads the table. A slip in copying a cell would show here.
  const ratios = giardiaCells().map(
    ({ celsius, pH, chlorine, printed }) =>
      giardiaCtRegression(3, conditions(celsius, pH, chlorine)) / printed,
  );
  expect(Math.min(...ratios)).toBeGreaterThanOrEqual(1);
  expect(Math.max(...ratios)).toBeLessThan(1.18);
});

test("more cold, more pH and more chlorine each ask for no less CT: no cell breaks the order of the Giardia table", () => {
  const broken = giardiaCells().filter(({ celsius, pH, chlorine, printed }) => {
    const colder = giardia(3, celsius - 5, pH, chlorine) >= printed;
    const higherPh = pH === 9 || giardia(3, celsius, pH + 0.5, chlorine) > printed;
    const stronger = giardia(3, celsius, pH, chlorine + 0.2) >= printed;
    return !(colder && higherPh && stronger);
  });
  expect(broken).toEqual([]);
});

// Disinfection Profiling and Benchmarking Guidance Manual, US EPA 815-R-99-013, 1999, reading rule and its examples,
// by a public restatement: 19 °C uses the table of 15 °C, pH 7.2 the column of 7.5, 1.1 mg/L the row of 1.2.
test.each([
  { reads: "15 °C, pH 7.5, 1.2 mg/L is 92", log: 3, celsius: 15, pH: 7.5, chlorine: 1.2, printed: 92 },
  {
    reads: "19 °C reads 15 °C, pH 7.2 reads 7.5, 1.1 mg/L reads 1.2",
    log: 3,
    celsius: 19,
    pH: 7.2,
    chlorine: 1.1,
    printed: 92,
  },
  { reads: "above 3 mg/L reads the row of 3", log: 3, celsius: 25, pH: 9, chlorine: 5, printed: 97 },
  {
    reads: "1.5-log at 0.4 °C, pH 7.6, 0.82 mg/L is 152",
    log: 1.5,
    celsius: 0.4,
    pH: 7.6,
    chlorine: 0.82,
    printed: 152,
  },
])(
  "the reading rule: $reads (US EPA 815-R-99-013, Tables C-1 and C-4)",
  ({ log, celsius, pH, chlorine, printed }) => {
    expect(giardia(log, celsius, pH, chlorine)).toBe(printed);
  },
);

// Chlorine disinfection, Water Research Center (B. Oram), summary table: 1-, 2- and 3-log at 0.5 °C and pH 6.
test.each([
  { chlorine: 0.4, printed: [46, 91, 137] },
  { chlorine: 1, printed: [49, 99, 148] },
  { chlorine: 2, printed: [55, 110, 165] },
])(
  "1-, 2- and 3-log at $chlorine mg/L print as thirds of the 3-log figure: $printed",
  ({ chlorine, printed }) => {
    expect([1, 2, 3].map((log) => Math.round(giardia(log, 0.5, 6, chlorine)))).toEqual(printed);
  },
);

// Chlorine contact time for small water systems, DOH 331-343, Washington State Department of Health, 2011.
test.each([
  { residual: 0.5, ct: 5, meets: false },
  { residual: 0.6, ct: 6, meets: true },
])(
  "$residual mg/L for 10 min is CT $ct, which meets CT6: $meets (Washington DOH 331-343)",
  ({ residual, ct, meets }) => {
    const achieved = ctAchieved(mgPerLitre(residual), quantity("duration", 10, "min"));
    expect(exactIn(achieved, "mg min/L").valueOf()).toBe(ct);
    expect(achieved.si.gte(sound(virusCt(4, { temperature: celsiusOf(10), pH: 7 })).required.si)).toBe(meets);
  },
);

test("CT of half the table's 3-log figure is 1.5-log: log = 3 · CT / CT99.9 (40 CFR 141.534)", () => {
  const { required } = sound(giardiaCt(3, conditions(10, 7, 1)));
  expect(logInactivation(quantity("exposure", 56, "mg min/L"), required, 3)).toBe(1.5);
});

test.each([
  { log: 0.5, percent: "68" },
  { log: 2, percent: "99" },
  { log: 3, percent: "99.9" },
  { log: 4, percent: "99.99" },
])("$log-log is $percent % inactivated (WAC 246-290-662)", ({ log, percent }) => {
  const decimals = percent.split(".")[1]?.length ?? 0;
  expect((shareInactivated(log) * 100).toFixed(decimals)).toBe(percent);
});

test("baffling runs 0.1, 0.3, 0.5, 0.7 (US EPA, 1999) and 1 for a pipe (Oregon, 2020; WAC 246-290-636)", () => {
  expect(BAFFLING).toEqual({ unbaffled: 0.1, poor: 0.3, average: 0.5, superior: 0.7, pipe: 1 });
});

test("a pipe's time is its volume over peak flow (WAC 246-290-636)", () => {
  const time = t10(quantity("volume", 150, "gal"), quantity("flow", 15, "gpm"), BAFFLING.pipe);
  expect(exactIn(time, "min").valueOf()).toBe(10);
});
