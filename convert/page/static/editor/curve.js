// Lines and cubic curves in a closed ring of nodes {id, x, y, in, out, corner, edge}; handles are absolute points or null.

/** @typedef {[number, number]} Pair */
/** @typedef {[Pair, Pair, Pair, Pair]} Curve four control points */

/** @type {(a: number[], b: number[]) => number} */
export const dist = (a, b) => Math.hypot(a[0] - b[0], a[1] - b[1]);
/** @type {(node: {x: number, y: number}) => Pair} */
export const at = (node) => [node.x, node.y];
/** @type {(a: number[], b: number[], t: number) => Pair} */
const mix = (a, b, t) => [a[0] + (b[0] - a[0]) * t, a[1] + (b[1] - a[1]) * t];

/**
 * The four control points of the stretch that starts at node `k`.
 * @returns {Curve}
 */
export function stretch(nodes, k) {
  const a = nodes[k], b = nodes[(k + 1) % nodes.length];
  if (!a.out && !b.in) return [at(a), mix(at(a), at(b), 1 / 3), mix(at(a), at(b), 2 / 3), at(b)];
  return [at(a), a.out ?? at(a), b.in ?? at(b), at(b)];
}

export const isStraight = (nodes, k) => !nodes[k].out && !nodes[(k + 1) % nodes.length].in;

/**
 * @param {Curve} curve
 * @param {number} t
 * @returns {Pair}
 */
export function onCubic([a, b, c, d], t) {
  const u = 1 - t, p = u * u * u, q = 3 * u * u * t, r = 3 * u * t * t, w = t * t * t;
  return [p * a[0] + q * b[0] + r * c[0] + w * d[0], p * a[1] + q * b[1] + r * c[1] + w * d[1]];
}

/**
 * The same curve as two (de Casteljau).
 * @param {Curve} curve
 * @param {number} t
 * @returns {[Curve, Curve]}
 */
export function split([a, b, c, d], t) {
  const ab = mix(a, b, t), bc = mix(b, c, t), cd = mix(c, d, t);
  const abc = mix(ab, bc, t), bcd = mix(bc, cd, t), middle = mix(abc, bcd, t);
  return [[a, ab, abc, middle], [middle, bcd, cd, d]];
}

/** Points along a stretch about `step` apart, its end left out. */
export function sampled(nodes, k, step = 0.5) {
  const curve = stretch(nodes, k);
  const rough = isStraight(nodes, k) ? dist(curve[0], curve[3]) : dist(curve[0], curve[1]) + dist(curve[1], curve[2]) + dist(curve[2], curve[3]);
  const count = isStraight(nodes, k) ? 1 : Math.max(2, Math.ceil(rough / step));
  return Array.from({ length: count }, (_, i) => onCubic(curve, i / count));
}

/**
 * Nearest place on the ring.
 * @returns {{far: number, k: number, t: number, point: Pair}}
 */
export function nearest(nodes, point) {
  let best = { far: Infinity, k: 0, t: 0, point: /** @type {Pair} */ ([NaN, NaN]) };
  for (let k = 0; k < nodes.length; k += 1) {
    const curve = stretch(nodes, k);
    if (outside(curve, point, best.far)) continue;
    const straight = isStraight(nodes, k), count = straight ? 1 : 24;
    for (let i = 0; i < count; i += 1) {
      const a = straight ? curve[0] : onCubic(curve, i / count), b = straight ? curve[3] : onCubic(curve, (i + 1) / count);
      const along = share(a, b, point), near = mix(a, b, along), far = dist(near, point);
      if (far < best.far) best = { k, t: (i + along) / count, point: near, far };
    }
  }
  return best;
}

function outside(curve, [x, y], reach) {
  const xs = curve.map((p) => p[0]), ys = curve.map((p) => p[1]);
  return x < Math.min(...xs) - reach || x > Math.max(...xs) + reach || y < Math.min(...ys) - reach || y > Math.max(...ys) + reach;
}

function share(a, b, p) {
  const way = [b[0] - a[0], b[1] - a[1]], long = way[0] ** 2 + way[1] ** 2;
  return long ? Math.max(0, Math.min(1, ((p[0] - a[0]) * way[0] + (p[1] - a[1]) * way[1]) / long)) : 0;
}

const n = (value) => value.toFixed(2);

/** SVG path data of stretches `from` to `to` (all of them by default), each point through `map`. */
export function pathOf(nodes, map, from = 0, to = nodes.length) {
  if (!nodes.length) return "";
  const first = map(at(nodes[from % nodes.length]));
  let data = `M${n(first[0])} ${n(first[1])}`;
  for (let k = from; k < to; k += 1) {
    const i = k % nodes.length, end = nodes[(i + 1) % nodes.length];
    if (isStraight(nodes, i)) { const p = map(at(end)); data += `L${n(p[0])} ${n(p[1])}`; continue; }
    const [, b, c, d] = stretch(nodes, i).map(map);
    data += `C${n(b[0])} ${n(b[1])} ${n(c[0])} ${n(c[1])} ${n(d[0])} ${n(d[1])}`;
  }
  return to - from >= nodes.length ? `${data}Z` : data;
}

export const lineOf = (points, map = (p) => p) => points.map((p, i) => { const q = map(p); return `${i ? "L" : "M"}${n(q[0])} ${n(q[1])}`; }).join("");

/** Which way the ring's tangent runs at a place, as a unit vector. */
export function tangent(nodes, k, t) {
  const curve = stretch(nodes, k), a = onCubic(curve, Math.max(0, t - 0.02)), b = onCubic(curve, Math.min(1, t + 0.02));
  const long = dist(a, b) || 1;
  return [(b[0] - a[0]) / long, (b[1] - a[1]) / long];
}
