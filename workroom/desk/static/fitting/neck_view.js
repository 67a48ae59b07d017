// The collar on the neck: cells in space, turned by hand and painted from the farthest to the
// nearest. Asked for only while it is open, and again when what is on the page was drawn anew.
import { $, make, post } from "./page.js";

const LIGHT = [-0.3, 0.6, 0.74]; // right, up and nearer of who looks
const BODY = [226, 205, 181];
const CLOTH = [255, 254, 250];
const DARK = 0.7;
const INSIDE = 0.76;
const WIDTH = 480;
const HEIGHT = 380;
// Shoulders are before the neck where they face who looks by this much; less is beside it.
const BEFORE = 0.35;
const LOWEST = -10;
const HIGHEST = 70;
const SHOULDERS = 0;
const calm = window.matchMedia("(prefers-reduced-motion: reduce)");

let shown = null;
let turn = 30; // degrees from her front to her left
let raised = 12;
let moving = 0;

const rad = (degrees) => (degrees * Math.PI) / 180;
const dot = (a, b) => a[0] * b[0] + a[1] * b[1] + a[2] * b[2];
const cross = (a, b) => [a[1] * b[2] - a[2] * b[1], a[2] * b[0] - a[0] * b[2], a[0] * b[1] - a[1] * b[0]];
const minus = (a, b) => [a[0] - b[0], a[1] - b[1], a[2] - b[2]];
const unit = (a) => { const long = Math.hypot(...a) || 1; return [a[0] / long, a[1] / long, a[2] / long]; };

const axes = () => {
  const left = -Math.sin(rad(turn));
  const front = Math.cos(rad(turn));
  const up = Math.sin(rad(raised));
  const level = Math.cos(rad(raised));
  return [[-front, left, 0], [-up * left, -up * front, level], [level * left, level * front, up]];
};

// Once for every answer: what does not change with the turning.
const prepared = (told) => {
  const cells = told.layers.flatMap((layer) => layer.corners.map((flat, k) => {
    const corners = [0, 3, 6, 9].map((at) => flat.slice(at, at + 3));
    const outward = layer.outward[k];
    const square = unit(cross(minus(corners[2], corners[0]), minus(corners[3], corners[1])));
    const out = [outward[0], outward[1], outward[2] + 0.6];
    const facing = dot(square, out) < 0 ? square.map((one) => -one) : square;
    return { corners, outward, facing, layer: layer.layer, cloth: layer.cloth, strain: layer.strains[k], rim: layer.rim[k] };
  }));
  const places = cells.flatMap((cell) => cell.corners);
  const middle = [0, 1, 2].map((k) => {
    const values = places.map((place) => place[k]);
    return (Math.min(...values) + Math.max(...values)) / 2;
  });
  const reach = Math.max(...places.map((place) => Math.hypot(place[0] - middle[0], place[1] - middle[1])));
  return { ...told, cells, places, middle, scale: (0.94 * WIDTH) / (2 * reach) };
};

const rgb = (base, light) => `rgb(${base.map((one) => Math.round(one * Math.min(light, 1))).join(" ")})`;

const paint = () => {
  if (!shown) return;
  const [right, up, nearer] = axes();
  const heights = shown.places.map((place) => dot(minus(place, shown.middle), up));
  const [low, high] = [Math.min(...heights), Math.max(...heights)];
  const scale = Math.min(shown.scale, (0.96 * HEIGHT) / (high - low));
  const at = (place) => {
    const off = minus(place, shown.middle);
    return [WIDTH / 2 + scale * dot(off, right), HEIGHT / 2 - scale * (dot(off, up) - (low + high) / 2)];
  };
  const painted = [];
  for (const cell of shown.cells) {
    const faced = dot(cell.facing, nearer);
    if (!cell.cloth && faced < 0) continue;
    const near = dot(cell.outward, nearer) > (cell.layer === SHOULDERS ? BEFORE : 0);
    const order = cell.layer === SHOULDERS ? (near ? 40 : 0) : near ? 60 + cell.layer : 20 - cell.layer;
    const middle = cell.corners.reduce((sum, one) => sum + dot(one, nearer), 0) / 4;
    painted.push([order, middle, cell, faced]);
  }
  painted.sort((a, b) => a[0] - b[0] || a[1] - b[1]);
  const parts = [`<svg viewBox="0 0 ${WIDTH} ${HEIGHT}" aria-hidden="true">`];
  for (const [, , cell, faced] of painted) {
    const way = faced < 0 ? -1 : 1;
    const lit = Math.max(way * dot([dot(cell.facing, right), dot(cell.facing, up), faced], LIGHT), 0);
    const given = Math.abs(cell.strain);
    const shade = (DARK + (1 - DARK) * lit) * (given >= shown.much ? 0.72 : given >= shown.seen ? 0.86 : 1) * (cell.cloth && faced < 0 ? INSIDE : 1);
    const corners = cell.corners.map(at);
    const fill = rgb(cell.cloth ? CLOTH : BODY, shade);
    const line = rgb(cell.cloth ? CLOTH : BODY, shade * (cell.cloth ? 0.9 : 1));
    parts.push(`<path fill="${fill}" stroke="${line}" d="M${corners.map((one) => `${one[0].toFixed(1)} ${one[1].toFixed(1)}`).join("L")}Z"/>`);
    for (const side of cell.rim) {
      const [a, b] = [corners[side], corners[(side + 1) % 4]];
      parts.push(`<path class="rim" d="M${a[0].toFixed(1)} ${a[1].toFixed(1)}L${b[0].toFixed(1)} ${b[1].toFixed(1)}"/>`);
    }
    if (given >= shown.seen) {
      const x = corners.reduce((sum, one) => sum + one[0], 0) / 4;
      const y = corners.reduce((sum, one) => sum + one[1], 0) / 4;
      const arm = given >= shown.much ? 3.4 : 2;
      parts.push(`<path class="sign" d="M${(x - arm).toFixed(1)} ${y.toFixed(1)}h${2 * arm}${cell.strain > 0 ? `M${x.toFixed(1)} ${(y - arm).toFixed(1)}v${2 * arm}` : ""}"/>`);
    }
  }
  if (shown.front.length && nearer[1] > 0) {
    const [a, b] = shown.front.map(at);
    parts.push(`<path class="front" d="M${a[0].toFixed(1)} ${a[1].toFixed(1)}L${b[0].toFixed(1)} ${b[1].toFixed(1)}"/>`);
  }
  $("on-neck-picture").innerHTML = `${parts.join("")}</svg>`; // numbers and our own words only
};

const from = () => {
  const sides = ["her front", "her front and left", "her left", "her back and left", "her back", "her back and right", "her right", "her front and right"];
  const side = sides[Math.round((((turn % 360) + 360) % 360) / 45) % 8];
  const text = `Seen from ${side}, ${Math.abs(Math.round(raised))}° ${raised < 0 ? "below" : "above"} level.`;
  if ($("on-neck-from").textContent !== text) $("on-neck-from").textContent = text;
};

const look = (newTurn, newRaised) => {
  turn = newTurn;
  raised = Math.min(Math.max(newRaised, LOWEST), HIGHEST);
  paint();
};

// A button turns it before the eye, or at once for who wants no motion.
const go = (newTurn, newRaised) => {
  cancelAnimationFrame(moving);
  const [startTurn, startRaised, began] = [turn, raised, performance.now()];
  const way = ((((newTurn - startTurn) % 360) + 540) % 360) - 180;
  if (calm.matches) { look(startTurn + way, newRaised); from(); return; }
  const step = (now) => {
    const share = Math.min((now - began) / 300, 1);
    const eased = share * (2 - share);
    look(startTurn + way * eased, startRaised + (newRaised - startRaised) * eased);
    if (share < 1) moving = requestAnimationFrame(step);
    else from();
  };
  moving = requestAnimationFrame(step);
};

const show = (told) => {
  $("on-neck-why").hidden = !told.why;
  $("on-neck-why").textContent = told.why;
  $("on-neck-shown").hidden = Boolean(told.why);
  shown = told.why ? null : prepared(told);
  if (!shown) return;
  $("on-neck-legend").textContent = told.legend;
  $("on-neck-said").replaceChildren(...told.said.map((text) => make("li", { text })));
  paint();
  from();
};

export const ready = (root, content) => {
  const view = $("on-neck");
  const place = $("on-neck-picture");
  let asking = false;
  let again = false;
  let soon = 0;
  const ask = async () => {
    if (!view.open) return;
    if (asking) { again = true; return; }
    asking = true;
    try {
      show(await post("/neck", content()));
      view.dataset.shown = String(Number(view.dataset.shown || 0) + 1);
    } catch (error) {
      show({ why: `Not shown: ${error.message}` });
    } finally {
      asking = false;
      if (again) { again = false; ask(); }
    }
  };
  view.addEventListener("toggle", ask);
  new MutationObserver(() => {
    clearTimeout(soon);
    if (view.open) soon = setTimeout(ask, 400);
  }).observe(root, { attributes: true, attributeFilter: ["data-redrawn"] });
  for (const button of document.querySelectorAll("#on-neck .around button")) {
    button.addEventListener("click", () => {
      const { turn: to, by, raise } = button.dataset;
      go(to === undefined ? turn + Number(by || 0) : Number(to), raised + Number(raise || 0));
    });
  }
  const keys = { ArrowLeft: [-10, 0], ArrowRight: [10, 0], ArrowUp: [0, 8], ArrowDown: [0, -8] };
  place.addEventListener("keydown", (event) => {
    const way = keys[event.key];
    if (!way || event.ctrlKey || event.altKey || event.metaKey) return;
    event.preventDefault();
    cancelAnimationFrame(moving);
    look(turn + way[0], raised + way[1]);
    from();
  });
  let held = null;
  place.addEventListener("pointerdown", (event) => {
    cancelAnimationFrame(moving);
    held = [event.clientX, event.clientY];
    place.setPointerCapture(event.pointerId);
  });
  place.addEventListener("pointermove", (event) => {
    if (!held) return;
    look(turn - (event.clientX - held[0]) * 0.5, raised + (event.clientY - held[1]) * 0.4);
    held = [event.clientX, event.clientY];
  });
  for (const end of ["pointerup", "pointercancel"]) {
    place.addEventListener(end, () => { if (held) from(); held = null; });
  }
};
