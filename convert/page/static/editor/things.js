// Everything on the paper that can be chosen, in order round the edge, then marks, darts and lines.

import { edgeWords, filled, words } from "/static/words.js";

const t = words.piece.things;

/** [{key, kind, n, k?, at, label}] */
export function thingsOf(doc, chosenKey, edgeOf = [], edges = []) {
  const things = [];
  const add = (kind, n, at, label, extra = {}) => things.push({ key: `${kind}-${n}${extra.k === undefined ? "" : `-${extra.k}`}`, kind, n, at, label, ...extra });
  doc.nodes.forEach((node, n) => {
    add("node", n, [node.x, node.y], filled(node.corner ? t.corner : t.node, { n: n + 1, of: doc.nodes.length, edge: edgeWords(edgeOf[n] ?? node.edge) }), { corner: node.corner });
    // handles only of the point that is chosen, or whose handle is
    if (chosenKey === `node-${n}` || chosenKey === `in-${n}` || chosenKey === `out-${n}`) {
      if (node.in) add("in", n, node.in, filled(t.in, { n: n + 1 }));
      if (node.out) add("out", n, node.out, filled(t.out, { n: n + 1 }));
    }
  });
  doc.notches.forEach((one, n) => add("notch", n, one.at, filled(t.notch, { n: one.no ?? n + 1 })));
  doc.holes.forEach((one, n) => add("hole", n, one.at, filled(t.hole, { n: one.no ?? n + 1 })));
  doc.darts.forEach((dart, n) => {
    const name = dartWords(doc, dart);
    dart.legs.forEach((at, k) => add("leg", n, at, filled(t.leg, { dart: name, way: wayWords(dart, k, edges) }), { k }));
    dart.apexes.forEach((at, k) => add("apex", n, at, filled(t.apex, { dart: name }), { k }));
  });
  (doc.grain ?? []).forEach((at, k) => add("grain", 0, at, filled(t.grain, { n: k + 1 }), { k }));
  (doc.centre ?? []).forEach((at, k) => add("centre", 0, at, filled(t.centre, { n: k + 1 }), { k }));
  return things;
}

/** What a dart is called: by its edge, with a number only where there are several on that edge. */
function dartWords(doc, dart) {
  const alike = doc.darts.filter((one) => (one.on ?? null) === (dart.on ?? null)), name = dart.on ? filled(t.dart_on, { edge: edgeWords(dart.on) }) : t.dart_inside;
  return alike.length > 1 ? `${name} ${dart.no ?? doc.darts.indexOf(dart) + 1}` : name;
}

/** Towards which neighbour of its edge a leg lies, by which of two edges it is nearer to. */
function wayWords(dart, k, edges) {
  const [first, second] = t.ways[dart.on] ?? [];
  const far = (at) => Math.min(...edges.filter((one) => one.name === first?.[0]).flatMap((one) => (one.cut_points ?? one.points).map((p) => Math.hypot(p[0] - at[0], p[1] - at[1]))));
  const here = far(dart.legs[k]), there = far(dart.legs[1 - k]);
  if (!first || !Number.isFinite(here)) return filled(t.side_n, { n: k + 1 });
  return here <= there ? first[1] : second;
}
