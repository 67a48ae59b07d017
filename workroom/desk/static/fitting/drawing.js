// The drawing: near, far, along; edges that tell what they are.
import { $ } from "./page.js";

let view = null;
let whole = [0, 0, 1, 1];
let chosen = -1;
const place = $("drawing");
const svg = () => place.querySelector("svg");
const edges = () => [...place.querySelectorAll(".edge")];

export const draw = (text) => {
  place.innerHTML = text; // made by the desk: names in it are escaped there
  $("blank").hidden = true;
  const drawn = svg();
  whole = drawn.getAttribute("viewBox").split(" ").map(Number);
  if (view) drawn.setAttribute("viewBox", view.join(" "));
  for (const edge of edges()) {
    const hit = edge.cloneNode();
    hit.removeAttribute("id");
    hit.setAttribute("class", "hit");
    edge.after(hit);
  }
  scale();
};

// Writing stays as large on the screen however near the drawing is.
const scale = () => {
  const drawn = svg();
  if (!drawn) return;
  const [, , w, h] = view || whole;
  const box = place.getBoundingClientRect();
  const perPixel = Math.max(w / Math.max(box.width, 1), h / Math.max(box.height, 1));
  drawn.style.setProperty("--px", `${perPixel}px`);
  // a name stands on its piece or not at all; pointing at the piece says it
  for (const name of drawn.querySelectorAll(".name")) {
    const cloth = name.parentElement.querySelector(".cloth").getBBox();
    name.classList.toggle("too-long", name.getBBox().width > cloth.width || 14 * perPixel > cloth.height);
  }
};

const look = (box) => {
  view = box;
  if (svg()) svg().setAttribute("viewBox", (view || whole).join(" "));
  place.classList.toggle("zoomed", Boolean(view));
  scale();
};

const zoom = (factor, fx = 0.5, fy = 0.5) => {
  if (!svg()) return;
  const [x, y, w, h] = view || whole;
  if (factor > 1 && w * factor >= whole[2] * 1.02) { look(null); return; }
  if (w * factor < 2) return;
  look([x + w * fx * (1 - factor), y + h * fy * (1 - factor), w * factor, h * factor]);
};

const shift = (dx, dy) => {
  if (!svg()) return;
  const [x, y, w, h] = view || whole;
  look([x + dx * w, y + dy * h, w, h]);
};

const tell = (edge) => {
  for (const one of place.querySelectorAll(".here, .partner")) one.classList.remove("here", "partner");
  edge.classList.add("here");
  const partners = edge.dataset.partner.split(" ").filter(Boolean);
  const others = edges().filter((one) => partners.includes(one.dataset.at));
  for (const one of others) one.classList.add("partner");
  const names = [...new Set(others.map((one) => `${one.dataset.piece}, ${one.dataset.name} (${one.dataset.length})`))];
  const sewn = names.length ? ` Sewn to ${names.join(" and ")}.` : edge.dataset.fold ? " On the fold." : "";
  $("edge").hidden = false;
  $("edge").textContent = `${edge.dataset.piece}, ${edge.dataset.name}: ${edge.dataset.length}.${sewn}`;
};

// Edges that failed checks are about are marked; showing one goes near.
export const mark = (ats) => {
  for (const edge of edges()) edge.classList.toggle("pointed", ats.has(edge.dataset.at));
};

export const show = (ats) => {
  const meant = edges().filter((edge) => ats.includes(edge.dataset.at));
  if (!meant.length) return;
  for (const edge of edges()) edge.classList.toggle("looked-at", meant.includes(edge));
  const frame = svg().getScreenCTM().inverse();
  const boxes = meant.map((edge) => edge.getBoundingClientRect());
  const corner = (x, y) => new DOMPoint(x, y).matrixTransform(frame);
  const low = corner(Math.min(...boxes.map((b) => b.left)), Math.min(...boxes.map((b) => b.top)));
  const high = corner(Math.max(...boxes.map((b) => b.right)), Math.max(...boxes.map((b) => b.bottom)));
  const margin = 4;
  const w = Math.min(Math.max(high.x - low.x + 2 * margin, 16), whole[2]);
  const h = Math.min(Math.max(high.y - low.y + 2 * margin, 16), whole[3]);
  look([(low.x + high.x - w) / 2, (low.y + high.y - h) / 2, w, h]);
  tell(meant[0]);
  place.scrollIntoView({ block: "nearest" });
};

export const ready = () => {
  $("nearer").addEventListener("click", () => zoom(0.75));
  $("farther").addEventListener("click", () => zoom(1 / 0.75));
  $("whole").addEventListener("click", () => look(null));
  place.addEventListener("wheel", (event) => {
    if (!event.ctrlKey && !event.metaKey) return;
    event.preventDefault();
    const box = place.getBoundingClientRect();
    zoom(event.deltaY > 0 ? 1.1 : 0.9, (event.clientX - box.left) / box.width, (event.clientY - box.top) / box.height);
  }, { passive: false });
  // one finger or the mouse moves what is zoomed; two fingers zoom
  const held = new Map();
  const apart = () => { const [a, b] = [...held.values()]; return Math.hypot(a[0] - b[0], a[1] - b[1]); };
  place.addEventListener("pointerdown", (event) => held.set(event.pointerId, [event.clientX, event.clientY]));
  for (const end of ["pointerup", "pointercancel"]) window.addEventListener(end, (event) => held.delete(event.pointerId));
  place.addEventListener("pointermove", (event) => {
    const was = held.get(event.pointerId);
    if (!was) return;
    const before = held.size === 2 ? apart() : 0;
    held.set(event.pointerId, [event.clientX, event.clientY]);
    const box = place.getBoundingClientRect();
    if (before) zoom(before / Math.max(apart(), 1));
    else if (view) shift((was[0] - event.clientX) / box.width, (was[1] - event.clientY) / box.height);
  });
  place.addEventListener("pointerover", (event) => {
    const hit = event.target.closest(".hit");
    if (hit) tell(hit.previousElementSibling);
  });
  place.addEventListener("keydown", (event) => {
    const moves = { ArrowLeft: [-0.08, 0], ArrowRight: [0.08, 0], ArrowUp: [0, -0.08], ArrowDown: [0, 0.08] };
    if (moves[event.key]) { event.preventDefault(); shift(...moves[event.key]); }
    else if (event.key === "+") zoom(0.75);
    else if (event.key === "-") zoom(1 / 0.75);
    else if (event.key === "0") look(null);
    else if (event.key === "." || event.key === ",") {
      const all = edges();
      if (!all.length) return;
      chosen = (chosen + (event.key === "." ? 1 : -1) + all.length) % all.length;
      tell(all[chosen]);
    }
  });
  for (const box of document.querySelectorAll("[data-show]")) {
    const set = () => place.classList.toggle(`show-${box.dataset.show}`, box.checked);
    box.addEventListener("change", set);
    set();
  }
  new ResizeObserver(scale).observe(place);
};
