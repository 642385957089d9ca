// @ts-check
/**
 * Numbers as a person reads them: true sizes in the unit chosen, model sizes in millimetres.
 * The digits shown follow the ±, so nothing pretends to be finer than it is. Pure.
 *
 * @typedef {"mm" | "m" | "ft"} Unit
 */

const THIN = "\u202f";
const MINUS = "\u2212";
export const MM_PER_INCH = 25.4;

/** @param {string} digits thousands set apart by a narrow space, from five digits on or always four */
function grouped(digits) {
  return digits.replace(/\B(?=(\d{3})+(?!\d))/g, THIN);
}

/** @param {number} value @param {number} decimals */
export function plain(value, decimals) {
  if (!Number.isFinite(value)) return "–";
  const [whole, part] = Math.abs(value).toFixed(decimals).split(".");
  const zero = Number(Math.abs(value).toFixed(decimals)) === 0;
  return `${value < 0 && !zero ? MINUS : ""}${grouped(whole)}${part ? `.${part}` : ""}`;
}

/** Decimals worth showing beside a ± : two figures below 10 % of a unit step, else whole units.
 * @param {number | null | undefined} u in the unit shown @param {number} most */
export function decimalsFor(u, most) {
  if (u == null || !Number.isFinite(u) || u <= 0) return Math.min(most, 1);
  if (u >= 1) return 0;
  return Math.min(most, Math.ceil(-Math.log10(u)));
}

/**
 * Feet and inches to the sixteenth: `6 ft 8 in`, `2 ft 3 5/16 in`.
 * @param {number} mm @param {number} [finest] parts of an inch shown
 */
export function feetAndInches(mm, finest = 16) {
  const parts = Math.round((Math.abs(mm) / MM_PER_INCH) * finest);
  const feet = Math.floor(parts / (12 * finest));
  const rest = parts - feet * 12 * finest;
  const inches = Math.floor(rest / finest);
  let above = rest - inches * finest;
  let below = finest;
  while (above > 0 && above % 2 === 0) {
    above /= 2;
    below /= 2;
  }
  const fraction = above ? `${above}/${below}` : "";
  const inchText = [inches || !fraction ? String(inches) : "", fraction].filter(Boolean).join(" ");
  const sign = mm < 0 && parts > 0 ? MINUS : "";
  if (feet === 0) return `${sign}${inchText} in`;
  return inchText === "0" ? `${sign}${feet} ft` : `${sign}${feet} ft ${inchText} in`;
}

/** How fine an inch is worth being cut beside a ±. @param {number | null | undefined} u_mm */
function inchParts(u_mm) {
  if (u_mm == null || u_mm <= 0) return 16;
  return u_mm > 12 ? 1 : u_mm > 6 ? 2 : u_mm > 3 ? 4 : u_mm > 1.5 ? 8 : 16;
}

/**
 * A true size and its ±, apart, so that a table can set them in columns.
 * @param {number} mm @param {number | null | undefined} u_mm @param {Unit} unit
 * @returns {{value: string, u: string, unit: string}}
 */
export function trueSize(mm, u_mm, unit) {
  if (!Number.isFinite(mm)) return { value: "–", u: "", unit: "" };
  const known = u_mm != null && Number.isFinite(u_mm);
  if (unit === "ft") {
    const u = known ? `${plain(u_mm / MM_PER_INCH, decimalsFor(u_mm / MM_PER_INCH, 2))} in` : "";
    return { value: feetAndInches(mm, inchParts(u_mm)), u, unit: "" };
  }
  const per = unit === "m" ? 1000 : 1;
  const decimals = unit === "m" ? Math.max(2, decimalsFor((u_mm ?? 1) / 1000, 3)) : decimalsFor(u_mm, 1);
  return {
    value: plain(mm / per, decimals),
    u: known ? plain(u_mm / per, decimals) : "",
    unit,
  };
}

/** @param {number} mm @param {number | null | undefined} u_mm @param {Unit} unit */
export function trueSizeText(mm, u_mm, unit) {
  const shown = trueSize(mm, u_mm, unit);
  const tail = shown.unit ? `${THIN}${shown.unit}` : "";
  return shown.u ? `${shown.value} ±${shown.u}${tail}` : `${shown.value}${tail}`;
}

/** @param {number} mm on the model @returns {string} */
export function modelSizeText(mm) {
  if (!Number.isFinite(mm)) return "–";
  return `${plain(mm, Math.abs(mm) >= 100 ? 1 : 2)}${THIN}mm`;
}

/** @param {number} u_mm a ± on the model @returns {string} */
export function modelPlusMinus(u_mm) {
  if (!Number.isFinite(u_mm)) return "–";
  return `${plain(u_mm, u_mm >= 1 ? 1 : u_mm >= 0.095 ? 2 : 3).replace(/(\.\d)0$/, "$1")}${THIN}mm`;
}

/** @param {number} deg @param {number | null | undefined} u_deg */
export function angleText(deg, u_deg) {
  const decimals = decimalsFor(u_deg, 2);
  const tail = u_deg != null && Number.isFinite(u_deg) ? ` ±${plain(u_deg, decimals)}` : "";
  return `${plain(deg, decimals)}${tail}°`;
}

/** @param {number} m2 @param {Unit} unit */
export function areaText(m2, unit) {
  if (!Number.isFinite(m2)) return "–";
  if (unit === "ft") return `${plain(m2 / 0.09290304, m2 > 10 ? 0 : 1)}${THIN}sq ft`;
  return `${plain(m2, m2 >= 10 ? 1 : 2)}${THIN}m²`;
}

/** @param {number} count @param {string} one @param {string} [many] */
export function counted(count, one, many) {
  const word = count === 1 ? one : (many ?? `${one}s`);
  return `${plain(count, 0)} ${word}`;
}

/**
 * Round steps for a scale bar: 1, 2 or 5 times a power of ten, at least `least` long.
 * @param {number} least
 */
export function roundStep(least) {
  const power = 10 ** Math.floor(Math.log10(Math.max(least, 1e-9)));
  for (const step of [1, 2, 5, 10]) if (step * power >= least * (1 - 1e-9)) return step * power;
  return 10 * power;
}

/** "12 minutes ago". @param {number} seconds */
export function agoText(seconds) {
  if (seconds < 60) return "just now";
  if (seconds < 3600) return `${counted(Math.round(seconds / 60), "minute")} ago`;
  if (seconds < 86400) return `${counted(Math.round(seconds / 3600), "hour")} ago`;
  return `${counted(Math.round(seconds / 86400), "day")} ago`;
}

/** @param {number} bytes */
export function bytesText(bytes) {
  if (bytes < 1024) return `${bytes}${THIN}B`;
  if (bytes < 1024 * 1024) return `${plain(bytes / 1024, 0)}${THIN}KB`;
  return `${plain(bytes / 1024 / 1024, 1)}${THIN}MB`;
}

/**
 * A number as people type it, with a comma or a point and perhaps its unit; NaN if it is none.
 * @param {string} text @param {string} unit such as "mm"
 */
export function typedNumber(text, unit) {
  return Number(text.replace(",", ".").replace(new RegExp(`\\s*${unit}$`), ""));
}
