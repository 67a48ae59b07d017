// Numbers as a maker writes them: 37.4, 37,4, 14 3/8, 14-3/8 or 14⅜.
const FRACTIONS = /(\d-)?([½¼¾⅛⅜⅝⅞⅓⅔⅕⅖⅗⅘⅙⅚])/;
const spelled = (text) => text.replace(FRACTIONS, (all, lead, sign) =>
  `${lead ? lead[0] : ""} ${sign.normalize("NFKC").replace("⁄", "/")}`).trim();

export const inches = (value) => {
  const sixteenths = Math.round(value * 16);
  const whole = Math.trunc(sixteenths / 16);
  let top = Math.abs(sixteenths % 16);
  let bottom = 16;
  while (top && top % 2 === 0) { top /= 2; bottom /= 2; }
  if (!top) return String(whole);
  return `${whole ? `${whole} ` : sixteenths < 0 ? "-" : ""}${top}/${bottom}`;
};

export const plain = (text) => {
  const match = spelled(String(text).trim()).replace(",", ".")
    .match(/^(-)?\s*(?:(\d+(?:\.\d+)?)(?:(?:\s+|-)(\d+)\/(\d+))?|(\d+)\/(\d+))\s*(?:in|"|″|”)?$/);
  if (!match) return NaN;
  const part = match[3] || match[5] ? Number(match[3] || match[5]) / Number(match[4] || match[6]) : 0;
  const value = Number(match[2] || 0) + part;
  return match[1] ? -value : value;
};

// What goes on the card: a number where it is one, else the text as typed.
export const written = (text) => {
  const trimmed = String(text).trim();
  return /^-?\d{1,9}(\.\d{1,9})?$/.test(trimmed) ? Number(trimmed) : trimmed;
};

export const shown = (value, unit) => {
  if (typeof value === "string") return value;
  if (unit === "in") return inches(value);
  return String(Math.round(value * 1000) / 1000);
};

// One step up or down from what is written, or from where it would start.
export const stepped = (text, start, step, unit, up) => {
  let value = plain(text);
  if (Number.isNaN(value)) value = plain(start);
  if (Number.isNaN(value)) return text;
  const to = Math.round(value / step + (up ? 1 : -1)) * step;
  return unit === "in" ? inches(to) : String(Math.round(to * 1000) / 1000);
};
