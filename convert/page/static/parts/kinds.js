// Small drawings of the pieces, drawn as half pieces lie on the table: centre at the left, as seen from the printed side;
// and of how a garment may be cut, from which the parts of a piece are chosen.

import { s } from "/static/dom.js";

const SHAPES = {
  "bodice front": "M8 12 C14 13 18 10 20 4 L33 8 C30 16 32 24 40 25 L37 44 L27 45 L25 33 L22 45.5 L8 46 Z",
  "bodice back": "M8 6 C13 6.4 17 5.4 19 3 L33 7 C31 15 32 23 39 25 L37 45 L26 45.5 L24 32 L22 45.5 L8 46 Z",
  sleeve: "M4 20 C14 18 15 4 24 4 C33 4 34 18 44 20 L37 46 L11 46 Z",
  "skirt front": "M10 4 L20 4 L22 14 L24 4 L31 3 C35 10 37 18 37.5 26 L39 46 L10 46 Z",
  "skirt back": "M10 5 L19 4.6 L21.5 18 L24 4.2 L32 3 C36 10 38 18 38 26 L40 46 L10 46 Z",
  "dress front": "M12 8 C16 8 18 6 19 3 L29 6 C27 12 28 16 33 17 L30 25 L36 46 L12 47 Z",
  "dress back": "M12 5 C15 5 18 4.5 19 3 L29 6 C27 12 28 16 33 17 L30 25 L36 46 L12 47 Z",
  "trousers front": "M14 3 L31 2 C34 7 34 12 33 18 L29 47 L14 47 L12 24 L8 15 C12 15 13.6 13 13.6 10 Z",
  "trousers back": "M17 2 L33 3 C36 8 36 13 34.5 19 L30 47 L13 47 L11 25 L5 16 C11 16 13.4 14 14 10 Z",
};
const FISH = { "dress front": "M20 18 L22 25 L20 34 L18 25 Z", "dress back": "M20 16 L22.5 25 L20 36 L17.5 25 Z" };
const PARTS = {
  "bodice front, centre": "M8 12 C14 13 18 10 20 4 L26.5 6 C24 13 23.4 20 23.6 26 C23.6 34 22.6 40 22 45.5 L8 46 Z",
  "bodice front, side": "M26.5 6 L33 8 C30 16 32 24 40 25 L37 44 L27 45 C26.4 38 25 32 24.2 26 C24 20 25 13 26.5 6 Z",
  "bodice back, centre": "M8 6 C13 6.4 17 5.4 19 3 L26 5 C24 13 23.4 20 23.6 26 C23.6 34 22.6 40 22 45.5 L8 46 Z",
  "bodice back, side": "M26 5 L33 7 C31 15 32 23 39 25 L37 45 L26 45.5 C26 38 25 32 24.2 26 C24 20 24.8 13 26 5 Z",
  "bodice front yoke": "M20 4 L33 8 C31.9 11 31.5 13.5 31.5 16 L15.4 11.8 C18 10.2 19.4 7.4 20 4 Z",
  "bodice front, lower": "M8 12 C10.8 12.4 13.3 12.5 15.4 11.8 L31.5 16 C32 21 34.5 24.5 40 25 L37 44 L27 45 L25 33 L22 45.5 L8 46 Z",
  "bodice back yoke": "M8 6 C13 6.4 17 5.4 19 3 L33 7 C32.2 10 31.9 12.6 31.9 15 L8 15 Z",
  "bodice back, lower": "M8 15 L31.9 15 C32.2 20 34 24.6 39 25 L37 45 L26 45.5 L24 32 L22 45.5 L8 46 Z",
  "upper sleeve": "M10 17 C15 13 16 4 24 4 C33 4 34 13 39 18 C36 27 35 37 34 46 L15 46 C14 36 12 27 10 17 Z",
  "under sleeve": "M15 17 C20 25 29 26 35 18 C32.5 27 31.5 37 31 46 L20 46 C19 36 17 27 15 17 Z",
  "skirt front, centre": "M10 4 L21 4 C21.4 18 22.6 32 25 46 L10 46 Z",
  "skirt front, side": "M23.4 4 L31 3 C35 10 37 18 38 26 L42 46 L25.4 46 C23.6 32 23 18 23.4 4 Z",
  "skirt back, centre": "M10 5 L21 4.6 C21.4 18 22.6 32 25 46 L10 46 Z",
  "skirt back, side": "M23.4 4.4 L32 3 C36 10 38 18 38.6 26 L43 46 L25.4 46 C23.6 32 23 18 23.4 4.4 Z",
};
const BODICE = "M17 5 C20 9.5 28 9.5 31 5 L41 9 C39 16 39.4 20 42 24 L39 46 L9 46 L6 24 C8.6 20 9 16 7 9 Z";

/** How a garment may be cut: its outline, the seams that make it, and the parts it comes in. */
export const CUTS = [
  { key: "panels", outline: BODICE, seams: "M12 7 C18 18 18 30 16.5 46 M36 7 C30 18 30 30 31.5 46", parts: ["bodice front, centre", "bodice front, side", "bodice back, centre", "bodice back, side"] },
  { key: "yoke", outline: BODICE, seams: "M9 16 L39 16 M14 18 L14 23 M19 18 L19 23 M29 18 L29 23 M34 18 L34 23", parts: ["bodice front yoke", "bodice front, lower", "bodice back yoke", "bodice back, lower"] },
  { key: "sleeve", outline: "M8 14 C12 4 26 2 31 12 C34 22 38 30 44 41 L34 47 C27 36 18 28 10 24 C8 20 7 17 8 14 Z", seams: "M10 21 C20 26 29 35 36.4 45.4", parts: ["upper sleeve", "under sleeve"] },
  { key: "gores", outline: "M17 4 L31 4 C36 14 41 32 44 46 L4 46 C7 32 12 14 17 4 Z", seams: "M21.4 4 C20.4 18 18 33 15.6 46 M26.6 4 C27.6 18 30 33 32.4 46", parts: ["skirt front, centre", "skirt front, side", "skirt back, centre", "skirt back, side"] },
];

export const KINDS = Object.keys(SHAPES);

/** The whole piece that a part belongs to. */
const wholeOf = (kind) => (kind.endsWith(" sleeve") ? "sleeve" : KINDS.find((whole) => kind.startsWith(whole)));

export function kindDrawing(kind) {
  const part = PARTS[kind];
  return s("svg", { viewBox: "0 0 48 50", class: "kind", "aria-hidden": "true" },
    part && kind !== "under sleeve" ? s("path", { d: SHAPES[wholeOf(kind)], class: "inside" }) : null,
    s("path", { d: part ?? SHAPES[kind] ?? SHAPES["bodice front"] }),
    FISH[kind] ? s("path", { d: FISH[kind], class: "inside" }) : null);
}

/** A garment with the seams that it is cut at. */
export function cutDrawing(cut) {
  return s("svg", { viewBox: "0 0 48 50", class: "kind", "aria-hidden": "true" }, s("path", { d: cut.outline }), s("path", { d: cut.seams, class: "inside" }));
}
