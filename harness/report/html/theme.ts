/**
 * What colours and patterns do reports use? One palette for light, one for dark. Harness layer.
 *
 * Contrast on its paper is at least 4.5 to 1 for text and 3 to 1 for lines. Colour never stands alone: kinds differ by
 * hatching, dashes, place and a label as well.
 */
export interface Palette {
  readonly [name: string]: string;
}

export const LIGHT: Palette = {
  paper: "#fdfcf9",
  raised: "#f4f1ea",
  ink: "#1d2733",
  muted: "#56616d",
  line: "#d5d0c4",
  water: "#1c6e8c",
  stroke: "#9a4b12",
  prime: "#6b6f1d",
  owed: "#6a3f8f",
  bad: "#a81e2c",
  good: "#1d6b43",
  doubt: "#7a5a00",
  link: "#17597a",
};

export const DARK: Palette = {
  paper: "#14191f",
  raised: "#1d242c",
  ink: "#e8e6e0",
  muted: "#a5adb6",
  line: "#3a444f",
  water: "#66b9d8",
  stroke: "#e79a5b",
  prime: "#c6c95f",
  owed: "#c39be6",
  bad: "#ff8a8f",
  good: "#76cf9f",
  doubt: "#e3bd57",
  link: "#8accea",
};

/** The palette as declarations of CSS variables. */
export function variables(palette: Palette): string {
  return Object.entries(palette)
    .map(([name, colour]) => `--${name}:${colour}`)
    .join(";");
}

/** A drawing that asks for variables, with the colours of the light palette instead. */
export function onPaper(svg: string): string {
  return svg.replace(/var\(--(\w+)\)/g, (asked, name: string) => LIGHT[name] ?? asked);
}
