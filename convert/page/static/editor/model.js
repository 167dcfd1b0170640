// What lies on the paper, as a value: nodes of the edge, notches, holes, darts, lines, names. Every change makes a new one.

import { at, dist, nearest, sampled, split, stretch } from "/static/editor/curve.js";

const KINK_DEG = 8;
let ids = 0;
const id = (stem) => `${stem}${(ids += 1)}`;

/** The paper as the server reads it now. */
export function docOf(piece) {
  const marks = (kind) => piece.marks.filter((mark) => mark.kind === kind).map((mark, n) => ({ no: n + 1, id: id(kind), at: mark.at, confidence: mark.confidence ?? 1 }));
  return {
    nodes: nodesOf(piece),
    notches: marks("notch"), holes: marks("hole"),
    darts: piece.darts.map((dart, n) => ({ no: 1 + piece.darts.slice(0, n).filter((one) => one.on === dart.on).length, on: dart.on ?? null, id: id("dart"), legs: dart.legs, apexes: dart.apexes })),
    names: [], fold: foldOf(piece), foldTold: undefined,
    grain: piece.grainline ?? null, centre: piece.centre_line ?? null,
  };
}

export const foldOf = (piece) => piece.fold ?? piece.edges.find((edge) => edge.on_fold)?.name ?? null;

function nodesOf(piece) {
  const runs = piece.curves?.cut_line ?? piece.edges.map((edge) => ({ edge: edge.name, segments: (edge.cut_points ?? []).slice(1).map((p, i) => [edge.cut_points[i], p]) }));
  const nodes = [];
  let arriving = null;
  for (const run of runs) {
    run.segments.forEach((segment, k) => {
      nodes.push({ id: id("p"), x: segment[0][0], y: segment[0][1], in: arriving, out: segment.length === 4 ? segment[1] : null, corner: k === 0, edge: run.edge });
      arriving = segment.length === 4 ? segment[2] : null;
    });
  }
  if (nodes.length && arriving) nodes[0].in = arriving;
  if (!nodes.length) return (piece.outline ?? piece.cut_line ?? []).filter((_, i) => i % 40 === 0).map(([x, y]) => ({ id: id("p"), x, y, in: null, out: null, corner: false, edge: null }));
  return nodes.map((node, k) => ({ ...node, corner: node.corner || kinked(nodes, k) }));
}

function kinked(nodes, k) {
  const before = nodes[(k + nodes.length - 1) % nodes.length], node = nodes[k], after = nodes[(k + 1) % nodes.length];
  const a = node.in ?? at(before), b = node.out ?? at(after);
  const turn = Math.atan2(b[1] - node.y, b[0] - node.x) - Math.atan2(node.y - a[1], node.x - a[0]);
  return Math.abs(((((turn * 180) / Math.PI + 540) % 360) - 180)) > KINK_DEG;
}

// ---- changes; each gives a new document

const withNode = (doc, k, change) => ({ ...doc, nodes: doc.nodes.map((node, i) => (i === k ? { ...node, ...change } : node)) });
/** @type {(p: number[] | null, by: number[]) => number[] | null} */
const plus = (p, [dx, dy]) => (p ? [p[0] + dx, p[1] + dy] : null);

export function moveNode(doc, k, [x, y]) {
  const node = doc.nodes[k], by = [x - node.x, y - node.y];
  return withNode(doc, k, { x, y, in: plus(node.in, by), out: plus(node.out, by) });
}

/** A handle moves; on a smooth node the other one turns with it. */
export function moveHandle(doc, k, which, point) {
  const node = doc.nodes[k], other = which === "in" ? "out" : "in";
  const change = { [which]: point };
  if (!node.corner && node[other]) {
    const far = dist(at(node), node[other]), long = dist(at(node), point) || 1;
    change[other] = [node.x + ((node.x - point[0]) * far) / long, node.y + ((node.y - point[1]) * far) / long];
  }
  return withNode(doc, k, change);
}

export function addNode(doc, { k, t }) {
  const nodes = [...doc.nodes], after = (k + 1) % nodes.length, curve = stretch(nodes, k);
  const bent = nodes[k].out || nodes[after].in;
  const [left, right] = split(curve, t);
  const fresh = { id: id("p"), x: left[3][0], y: left[3][1], in: bent ? left[2] : null, out: bent ? right[1] : null, corner: false, edge: nodes[k].edge };
  if (bent) {
    nodes[k] = { ...nodes[k], out: left[1] };
    nodes[after] = { ...nodes[after], in: right[2] };
  }
  nodes.splice(k + 1, 0, fresh);
  return { ...doc, nodes };
}

export function removeNode(doc, k) {
  if (doc.nodes.length <= 4) return doc;
  const nodes = [...doc.nodes], count = nodes.length;
  const before = (k + count - 1) % count, after = (k + 1) % count;
  // the curve that is left keeps its directions and grows to span the gap
  const stretchOut = (node, handle) => (handle ? [node.x + (handle[0] - node.x) * 2, node.y + (handle[1] - node.y) * 2] : null);
  nodes[before] = { ...nodes[before], out: stretchOut(nodes[before], nodes[before].out) };
  nodes[after] = { ...nodes[after], in: stretchOut(nodes[after], nodes[after].in) };
  nodes.splice(k, 1);
  return { ...doc, nodes };
}

/** A smooth curve through the node, or a corner without handles of its own. */
export function setCorner(doc, k, corner) {
  const node = doc.nodes[k], count = doc.nodes.length;
  const before = doc.nodes[(k + count - 1) % count], after = doc.nodes[(k + 1) % count];
  if (corner) return withNode(doc, k, { corner: true });
  const way = [after.x - before.x, after.y - before.y], long = Math.hypot(...way) || 1, unit = [way[0] / long, way[1] / long];
  const reach = (other) => dist(at(node), at(other)) / 3;
  return withNode(doc, k, {
    corner: false,
    in: [node.x - unit[0] * reach(before), node.y - unit[1] * reach(before)],
    out: [node.x + unit[0] * reach(after), node.y + unit[1] * reach(after)],
  });
}

/** The stretch after node `k` straight, or bendable. */
export function setStraight(doc, k, straight) {
  const after = (k + 1) % doc.nodes.length, [a, b, c, d] = stretch(doc.nodes, k);
  const third = (p, q) => [p[0] + (q[0] - p[0]) / 3, p[1] + (q[1] - p[1]) / 3];
  const first = withNode(doc, k, { out: straight ? null : dist(a, b) > 0.01 ? b : third(a, d) });
  return withNode(first, after, { in: straight ? null : dist(c, d) > 0.01 ? c : third(d, a) });
}

export function addMark(doc, kind, point) {
  const list = kind === "notch" ? "notches" : "holes", where = kind === "notch" ? nearest(doc.nodes, point).point : point;
  return { ...doc, [list]: [...doc[list], { no: next(doc[list]), id: id(kind), at: where, confidence: 1 }] };
}
export function addDart(doc, legs, apexes) {
  const on = doc.nodes[nearest(doc.nodes, legs[0]).k]?.edge ?? null;
  return { ...doc, darts: [...doc.darts, { no: next(doc.darts.filter((one) => one.on === on)), on, id: id("dart"), legs, apexes }] };
}
/** The number of one more; those that are there keep theirs. */
const next = (list) => 1 + Math.max(0, ...list.map((one) => one.no ?? 0));

const replaced = (list, n, value) => list.map((one, i) => (i === n ? value : one));
const part = (list, n, point) => list.map((one, i) => (i === n ? point : one));

/** Put one thing (see things.js) somewhere else. */
export function moveThing(doc, thing, point) {
  const { kind, n, k } = thing;
  if (kind === "node") return moveNode(doc, n, point);
  if (kind === "in" || kind === "out") return moveHandle(doc, n, kind, point);
  if (kind === "notch") return { ...doc, notches: replaced(doc.notches, n, { ...doc.notches[n], at: nearest(doc.nodes, point).point }) };
  if (kind === "hole") return { ...doc, holes: replaced(doc.holes, n, { ...doc.holes[n], at: point }) };
  if (kind === "leg") return { ...doc, darts: replaced(doc.darts, n, { ...doc.darts[n], legs: part(doc.darts[n].legs, k, point) }) };
  if (kind === "apex") return { ...doc, darts: replaced(doc.darts, n, { ...doc.darts[n], apexes: part(doc.darts[n].apexes, k, point) }) };
  if (kind === "grain") return { ...doc, grain: part(doc.grain, k, point) };
  if (kind === "centre") return { ...doc, centre: part(doc.centre, k, point) };
  return doc;
}

export function removeThing(doc, { kind, n }) {
  const without = (list) => list.filter((_, i) => i !== n);
  if (kind === "node") return removeNode(doc, n);
  if (kind === "in" || kind === "out") return withNode(doc, n, { [kind]: null, corner: true });
  if (kind === "notch") return { ...doc, notches: without(doc.notches) };
  if (kind === "hole") return { ...doc, holes: without(doc.holes) };
  if (kind === "leg" || kind === "apex") return { ...doc, darts: without(doc.darts) };
  if (kind === "grain") return { ...doc, grain: null };
  if (kind === "centre") return { ...doc, centre: null };
  return doc;
}

/** The edge at a place is called so; null lets the program name it again. */
export function nameEdge(doc, point, name, current) {
  const rest = doc.names.filter((one) => one.name !== name && one.name !== current && one.was !== current);
  return { ...doc, names: name ? [...rest, { name, at: point, was: current }] : rest };
}
export const setFold = (doc, fold) => ({ ...doc, foldTold: fold, fold: fold === "none" ? null : fold });

// ---- what is told to the server

const same = (a, b) => JSON.stringify(a) === JSON.stringify(b);
const places = (list) => list.map((one) => one.at);
const dartsOf = (doc) => doc.darts.map(({ legs, apexes }) => ({ legs, apexes }));

/** Everything that differs from what was read, with what had been told before (null: nothing). */
export function toldOf(doc, base, before = {}) {
  const or = (key, changed, value) => (changed ? value : before[key] ?? null);
  return {
    outline_parts: changedParts(doc.nodes, base.nodes, before.outline_parts),
    notches: or("notches", !same(places(doc.notches), places(base.notches)), places(doc.notches)),
    holes: or("holes", !same(places(doc.holes), places(base.holes)), places(doc.holes)),
    darts: or("darts", !same(dartsOf(doc), dartsOf(base)), dartsOf(doc)),
    grain: or("grain", !same(doc.grain, base.grain), doc.grain),
    centre_line: or("centre_line", !same(doc.centre, base.centre), doc.centre),
    edges: or("edges", doc.names.length > 0, [...(before.edges ?? []).filter((one) => !doc.names.some((mine) => mine.name === one.name || mine.was === one.name)), ...doc.names.map(({ name, at: place }) => ({ name, at: place }))]),
    fold: or("fold", doc.foldTold !== undefined, doc.foldTold),
  };
}

/** Stretches of the edge that were redrawn, each from an untouched point to an untouched point. */
export function changedParts(nodes, old, before) {
  const known = new Map(old.map((node, i) => [node.id, i]));
  const kept = nodes.map((node, k) => {
    const after = nodes[(k + 1) % nodes.length], i = known.get(node.id), j = known.get(after.id);
    if (i === undefined || j !== (i + 1) % old.length) return false;
    return node.x === old[i].x && node.y === old[i].y && after.x === old[j].x && after.y === old[j].y && same(node.out, old[i].out) && same(after.in, old[j].in);
  });
  const count = nodes.length, parts = [];
  if (kept.every(Boolean)) return before?.length ? before : null;
  const start = kept.indexOf(true);
  if (start < 0) return [...(before ?? []), { points: [...nodes.flatMap((_, k) => sampled(nodes, k)), at(nodes[0])] }];
  for (let n = 0; n < count; n += 1) {
    const k = (start + n) % count;
    if (kept[k]) continue;
    const points = [];
    let end = k;
    while (!kept[end % count] && end < k + count) { points.push(...sampled(nodes, end % count)); end += 1; n += 1; }
    points.push(at(nodes[end % count]));
    parts.push({ points });
  }
  return [...(before ?? []), ...parts];
}
