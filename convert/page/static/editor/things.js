// Everything on the paper that can be chosen, in order round the edge, then marks, darts and lines.

import { edgeWords, filled, words } from "/static/words.js";

const t = words.piece.things;

/** [{key, kind, n, k?, at, label}] */
export function thingsOf(doc, chosenKey, edgeOf = []) {
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
  doc.notches.forEach((one, n) => add("notch", n, one.at, filled(t.notch, { n: n + 1, of: doc.notches.length })));
  doc.holes.forEach((one, n) => add("hole", n, one.at, filled(t.hole, { n: n + 1, of: doc.holes.length })));
  doc.darts.forEach((dart, n) => {
    dart.legs.forEach((at, k) => add("leg", n, at, filled(t.leg, { n: n + 1 }), { k }));
    dart.apexes.forEach((at, k) => add("apex", n, at, filled(t.apex, { n: n + 1 }), { k }));
  });
  (doc.grain ?? []).forEach((at, k) => add("grain", 0, at, filled(t.grain, { n: k + 1 }), { k }));
  (doc.centre ?? []).forEach((at, k) => add("centre", 0, at, filled(t.centre, { n: k + 1 }), { k }));
  return things;
}
