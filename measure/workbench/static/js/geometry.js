// @ts-check
/**
 * Plane geometry of the screen: nearest things, boxes, label places. Knows no camera. Pure.
 *
 * @typedef {[number, number]} Point
 */

/** @param {readonly number[]} a @param {readonly number[]} b */
export function distance(a, b) {
  return Math.hypot(a[0] - b[0], a[1] - b[1]);
}

/** @param {readonly number[]} p @param {readonly number[]} a @param {readonly number[]} b */
export function distanceToSegment(p, a, b) {
  const dx = b[0] - a[0];
  const dy = b[1] - a[1];
  const square = dx * dx + dy * dy;
  const along = square === 0 ? 0 : ((p[0] - a[0]) * dx + (p[1] - a[1]) * dy) / square;
  const t = Math.min(1, Math.max(0, along));
  return distance(p, [a[0] + t * dx, a[1] + t * dy]);
}

/**
 * @param {readonly number[]} p @param {readonly (readonly number[])[]} points
 * @param {boolean} closed
 */
export function distanceToPath(p, points, closed) {
  if (points.length === 0) return Infinity;
  let nearest = distance(p, points[0]);
  const last = closed ? points.length : points.length - 1;
  for (let i = 0; i < last; i += 1) {
    nearest = Math.min(nearest, distanceToSegment(p, points[i], points[(i + 1) % points.length]));
  }
  return nearest;
}

/** @param {readonly (readonly number[])[]} points @returns {Point} */
export function middleOf(points) {
  const n = Math.max(1, points.length);
  return [
    points.reduce((sum, p) => sum + p[0], 0) / n,
    points.reduce((sum, p) => sum + p[1], 0) / n,
  ];
}

/** @param {readonly (readonly number[])[]} points */
export function boxOf(points) {
  const xs = points.map((p) => p[0]);
  const ys = points.map((p) => p[1]);
  const x = Math.min(...xs);
  const y = Math.min(...ys);
  return { x, y, width: Math.max(...xs) - x, height: Math.max(...ys) - y };
}

/**
 * Order four corners round their middle: top left, top right, bottom right, bottom left
 * as seen on the screen, whatever order they were picked in.
 * @param {readonly (readonly number[])[]} corners
 */
export function cornersInOrder(corners) {
  const [cx, cy] = middleOf(corners);
  const round = corners
    .map((p) => ({ p, turn: Math.atan2(p[1] - cy, p[0] - cx) }))
    .sort((a, b) => a.turn - b.turn)
    .map((entry) => entry.p);
  const first = round.reduce(
    (best, p, i) => (p[0] + p[1] < round[best][0] + round[best][1] ? i : best),
    0,
  );
  return [...round.slice(first), ...round.slice(0, first)];
}

/** @typedef {{x: number, y: number, width: number, height: number}} Box */

/** @param {Box} a @param {Box} b */
export function boxesMeet(a, b) {
  return a.x < b.x + b.width && b.x < a.x + a.width && a.y < b.y + b.height && b.y < a.y + a.height;
}

/**
 * Places for labels so that none covers the thing it names, nor a label already placed.
 *
 * Each label tries below, above, right and left of its own box and takes the first free place
 * inside the sheet. One that finds none is left out (`null`): the list still holds it.
 *
 * @param {readonly {box: Box, width: number, height: number, insists?: boolean}[]} labels most wanted first
 * @param {{width: number, height: number}} screen
 * @param {number} gap
 * @param {readonly Box[]} [keepClear] what labels must not cover either, unless they insist
 * @param {readonly Box[]} [blocked] what no label may cover, such as the rod
 * @returns {(Point | null)[]} top left corner of each label
 */
export function placeLabels(labels, screen, gap, keepClear = [], blocked = []) {
  /** @type {Box[]} */
  const taken = [...blocked];
  return labels.map(({ box, width, height, insists }) => {
    const midX = box.x + box.width / 2 - width / 2;
    const midY = box.y + box.height / 2 - height / 2;
    /** @type {Point[]} */
    const tries = [
      [midX, box.y + box.height + gap],
      [midX, box.y - gap - height],
      [box.x + box.width + gap, midY],
      [box.x - gap - width, midY],
    ];
    for (const [x, y] of tries) {
      const place = { x, y, width, height };
      const inside = x >= 0 && y >= 0 && x + width <= screen.width && y + height <= screen.height;
      const free = insists || !keepClear.some((other) => boxesMeet(other, place));
      if (inside && free && !boxesMeet(place, box) && !taken.some((other) => boxesMeet(other, place))) {
        taken.push(place);
        return [x, y];
      }
    }
    return null;
  });
}

/**
 * Axes and turn of the ellipse of a 2 x 2 covariance, one standard deviation.
 * @param {number} xx @param {number} xy @param {number} yy
 */
export function ellipseOf(xx, xy, yy) {
  const mean = (xx + yy) / 2;
  const spread = Math.hypot((xx - yy) / 2, xy);
  return {
    major: Math.sqrt(Math.max(0, mean + spread)),
    minor: Math.sqrt(Math.max(0, mean - spread)),
    turn_rad: 0.5 * Math.atan2(2 * xy, xx - yy),
  };
}
