// Where on a piece's drawing a place of the toile lies: an edge and how far along it, or a point inside.

const SPOTS = {
  "side seam at the underarm": ["side seam", "top"], "side seam at the waist": ["side seam", "bottom"], "waist darts": ["dart", "waist"],
  "length above the waist": ["inside", 0.5, 0.2], "length above the underarm": ["inside", 0.35, 0.72], "across back": ["armhole", 0.5], "across chest": ["armhole", 0.5],
  "shoulder length": ["shoulder", 0.8], "shoulder slope": ["shoulder", 0.5], "forward shoulder": ["shoulder", 0.2], "neck width": ["neckline", 0.75], "front neck depth": ["neckline", 0.25],
  armhole: ["armhole", 0.85], "sway back": ["inside", 0.12, 0.12], "round back": ["inside", 0.12, 0.8], "bust point down": ["apex"], "bust point out": ["apex", 45],
  "upper arm": ["inside", 0.5, 0.62], wrist: ["hem", 0.5], "sleeve length": ["inside", 0.5, 0.35], crown: ["cap", 0.5], "skirt waist": ["waist", 0.7], hip: ["side seam", 0.35], "skirt length": ["hem", 0.5],
};

/** The point (mm) on this piece, or null if it has no such edge. */
export function spotOf(place, piece) {
  const [where, a, b] = SPOTS[place] ?? ["inside", 0.5, 0.5];
  if (where === "inside") return inside(piece, a, b);
  if (where === "apex") { const dart = piece.darts?.[0]; return dart ? [dart.apexes[0][0] + (a ?? 0), dart.apexes[0][1]] : inside(piece, 0.4, 0.5); }
  if (where === "dart") { const dart = piece.darts?.find((one) => one.on === a); return dart ? middle(dart.legs[0], dart.legs[1]) : null; }
  const edge = piece.edges.find((one) => one.name === where) ?? (where === "hem" ? piece.edges.find((one) => one.name === "wrist") : null);
  if (!edge) return null;
  if (a === "top" || a === "bottom") {
    const ends = [along(edge.points, 0.06), along(edge.points, 0.94)].sort((p, q) => q[1] - p[1]);
    return a === "top" ? ends[0] : ends[1];
  }
  // shares count from the centre or the neck outwards: turn edges that run the other way
  const from = edge.points[0][0] <= edge.points.at(-1)[0] ? a : 1 - a;
  return along(edge.points, from);
}

const middle = (p, q) => [(p[0] + q[0]) / 2, (p[1] + q[1]) / 2];
function inside(piece, u, v) {
  const xs = piece.seam_line.map((p) => p[0]), ys = piece.seam_line.map((p) => p[1]);
  return [Math.min(...xs) + u * (Math.max(...xs) - Math.min(...xs)), Math.min(...ys) + v * (Math.max(...ys) - Math.min(...ys))];
}
function along(points, share) {
  const lengths = points.slice(1).map((p, i) => Math.hypot(p[0] - points[i][0], p[1] - points[i][1]));
  let rest = share * lengths.reduce((x, y) => x + y, 0);
  for (const [i, long] of lengths.entries()) {
    if (rest <= long) return [points[i][0] + ((points[i + 1][0] - points[i][0]) * rest) / (long || 1), points[i][1] + ((points[i + 1][1] - points[i][1]) * rest) / (long || 1)];
    rest -= long;
  }
  return points.at(-1);
}
