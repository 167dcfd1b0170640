// Small drawings of the pieces, drawn as half pieces lie on the table: centre at the left, as seen from the printed side.

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

export const KINDS = Object.keys(SHAPES);

export function kindDrawing(kind) {
  return s("svg", { viewBox: "0 0 48 50", class: "kind", "aria-hidden": "true" },
    s("path", { d: SHAPES[kind] ?? SHAPES["bodice front"] }),
    FISH[kind] ? s("path", { d: FISH[kind], class: "inside" }) : null);
}
