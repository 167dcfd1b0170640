// A piece of the block as a plain drawing: seam line, darts, notches, grain; millimetres, y up, turned to stand upright.

import { s } from "/static/dom.js";
import { lineOf } from "/static/editor/curve.js";

/**
 * {element, map(point) -> svg point, box}; `extra` are further SVG children.
 * @param {any} piece
 * @param {{name?: string, extra?: (map: (point: number[]) => number[]) => any[], pad?: number, room?: number}} [how]
 */
export function pieceDrawing(piece, { name, extra = () => [], pad = 12, room = 0 } = {}) {
  const angle = upright(piece), cos = Math.cos(angle), sin = Math.sin(angle);
  const map = ([x, y]) => [cos * x - sin * y, -(sin * x + cos * y)];
  const points = piece.seam_line.map(map), xs = points.map((p) => p[0]), ys = points.map((p) => p[1]);
  const low = [Math.min(...xs) - pad - room, Math.min(...ys) - pad], high = [Math.max(...xs) + pad + room, Math.max(...ys) + pad];
  const darts = (piece.darts ?? []).map((dart) => lineOf(dart.apexes.length > 1 ? [dart.legs[0], dart.apexes[0], dart.legs[1], dart.apexes[1], dart.legs[0]] : [dart.legs[0], dart.apexes[0], dart.legs[1]], map)).join("");
  const element = s("svg", { viewBox: `${low[0]} ${low[1]} ${high[0] - low[0]} ${high[1] - low[1]}`, class: "piece-drawing", role: "img", "aria-label": name },
    s("path", { d: `${lineOf(piece.seam_line, map)}Z`, class: "shape" }), s("path", { d: darts, class: "inner" }),
    piece.grainline ? s("path", { d: lineOf(piece.grainline, map), class: "inner" }) : null,
    (piece.marks ?? []).filter((mark) => mark.kind === "notch").map((mark) => { const [x, y] = map(mark.seam_at ?? mark.at); return s("circle", { cx: x, cy: y, r: 3, class: "notch-dot" }); }),
    extra(map));
  return { element, map, box: [low, high] };
}

function upright(piece) {
  if (!piece.grainline) return 0;
  const [a, b] = piece.grainline;
  return Math.PI / 2 - Math.atan2(b[1] - a[1], b[0] - a[0]);
}
