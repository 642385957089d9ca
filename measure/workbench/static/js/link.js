// @ts-check
/**
 * From one sheet to the other: the server maps, the page only asks. One question under way, the
 * newest next, so the cross-hair follows without a queue. Effect.
 */

import { askJson, latest } from "./api.js";

/** @param {import("./store.js").Store} store */
export function makeLink(store) {
  /** @param {"chart" | "photo"} to @param {readonly (readonly number[])[]} points @param {AbortSignal} [signal] @returns {Promise<(number[] | null)[]>} */
  async function map(to, points, signal) {
    const { survey, answer, face } = store.state;
    if (!survey || !answer?.page?.faces?.[face]?.solved) return points.map(() => null);
    const told = await askJson(`/api/surveys/${survey}/map`, { stamp: answer.stamp, face, to, points: points.map((p) => [p[0], p[1]]) }, { signal });
    return told.points;
  }

  return {
    /** Photo pixels -> wall sheet coordinates (u, -v). @param {readonly (readonly number[])[]} points */
    async wallFromPhoto(points) {
      return (await map("chart", points)).map((p) => (p ? [p[0], -p[1]] : null));
    },
    /** Wall sheet coordinates -> photo pixels. @param {readonly (readonly number[])[]} points */
    async photoFromWall(points) {
      return map("photo", points.map((p) => [p[0], -p[1]]));
    },
    /** A follower for the cross-hair. @param {"chart" | "photo"} to @param {(point: number[] | null) => void} tell */
    follower(to, tell) {
      return latest(
        (/** @type {readonly number[]} */ point, signal) => map(to, [to === "photo" ? [point[0], -point[1]] : point], signal),
        ([point]) => tell(point ? (to === "chart" ? [point[0], -point[1]] : point) : null),
        () => tell(null),
      );
    },
  };
}
/** @typedef {ReturnType<typeof makeLink>} Link */
