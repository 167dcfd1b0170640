// Where on a piece's drawing a place of the toile lies: an edge and how far along it, or a point inside.

// Girths all the way round have no one place: they are chosen from the list.
const SPOTS = {
  "side seam": ["side seam", 0.5], "side seam at the underarm": ["side seam", 0.06], "side seam at the waist": ["side seam", { bodice: 0.94, skirt: 0.05 }], "side seam at the hip": ["side seam", 0.3],
  armhole: ["armhole", 0.85], "across back": ["armhole", 0.45], "across chest": ["armhole", 0.45], "shoulder length": ["shoulder", 0.82], "shoulder slope": ["shoulder", 0.5], "forward shoulder": ["shoulder", 0.2],
  "neckline pinched": ["neckline", 0.5], "armhole pinched": ["armhole", 0.65], "neck width": ["neckline", 0.8], "neck depth": ["neckline", 0.2], "length above the waist": ["inside", 0.45, 0.2], "length above the underarm": ["inside", 0.3, 0.74],
  "sway back": ["inside", 0.1, 0.1], "centre front at the waist": ["inside", 0.08, 0.08], "skirt waist at the centre": ["waist", 0.06], "round back": ["inside", 0.1, 0.8],
  "bust point down": ["apex", [0, -22]], "bust point out": ["apex", [32, 8]], "waist darts": ["dart", "waist"], "waist dart point": ["tip", "waist"], "side dart point": ["tip", "side seam"], "shoulder dart point": ["tip", "shoulder"],
  "upper arm": ["inside", 0.5, 0.6], wrist: ["hem", 0.5], "sleeve length": ["inside", 0.5, 0.35], crown: ["cap", 0.5], "skirt length": ["hem", 0.5],
};
const DOWNWARDS = ["side seam", "armhole"]; // shares count from the top there, elsewhere from the centre outwards

/** The point (mm) on this piece, or null if it has no such place. */
export function spotOf(place, piece) {
  if (!SPOTS[place]) return null;
  const [where, a, b] = SPOTS[place];
  if (where === "inside") return inside(piece, a, b);
  const dart = piece.darts?.find((one) => one.on === a);
  if (where === "apex") { const first = piece.darts?.[0]; return first ? [first.apexes[0][0] + a[0], first.apexes[0][1] + a[1]] : inside(piece, 0.4, 0.5); }
  if (where === "dart") return dart ? middle(dart.legs[0], dart.legs[1]) : null;
  if (where === "tip") return dart ? dart.apexes[0] : null;
  const edge = piece.edges.find((one) => one.name === where) ?? (where === "hem" ? piece.edges.find((one) => one.name === "wrist") : null);
  if (!edge) return null;
  const share = typeof a === "object" ? a[piece.kind.split(" ")[0]] ?? 0.5 : a, [first, last] = [edge.points[0], edge.points.at(-1)];
  const forwards = DOWNWARDS.includes(where) ? first[1] >= last[1] : first[0] <= last[0];
  return along(edge.points, forwards ? share : 1 - share);
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
