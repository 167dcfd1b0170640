// Mat millimetres and the pixels of the flattened picture; how the piece is turned to stand upright.

/**
 * {toPx, toMm, turn (degrees on screen), box (content px round the piece)}
 * @returns {{toPx: (mm: number[]) => number[], toMm: (px: number[]) => number[], turn: number, box: number[]}}
 */
export function paperFrame(sheet, piece) {
  const k = sheet.mm_per_px, [ox, oy] = sheet.origin_mm;
  const toPx = ([x, y]) => [(x - ox) / k, (oy - y) / k];
  const toMm = ([x, y]) => [ox + x * k, oy - y * k];
  const outline = piece?.outline ?? piece?.cut_line ?? piece?.edges?.flatMap((edge) => edge.cut_points ?? edge.points) ?? [];
  // y points down on the screen: a turn to the left there is negative; whole quarters keep the picture crisp
  const turn = -Math.round((piece?.placement?.turn_deg ?? 0) / 90) * 90;
  if (!outline.length) return { toPx, toMm, turn, box: [0, 0, sheet.width, sheet.height] };
  const pixels = outline.map(toPx), xs = pixels.map((p) => p[0]), ys = pixels.map((p) => p[1]);
  const low = [Math.min(...xs), Math.min(...ys)], high = [Math.max(...xs), Math.max(...ys)], pad = 0.06 * Math.max(high[0] - low[0], high[1] - low[1]);
  return { toPx, toMm, turn, box: [low[0] - pad, low[1] - pad, high[0] + pad, high[1] + pad] };
}
