// The fitting: what is typed goes to the desk as a card's content, what comes back is shown. Nothing
// is kept in the order until Save; what is typed meanwhile lies in the book, never in the browser.
import { $, get, make, post, say } from "./page.js";
import { Content } from "./content.js";
import { inches, plain } from "./numbers.js";
import * as drawing from "./drawing.js";
import * as papers from "./papers.js";
import * as toile from "./toile.js";
import { field, idOf, measureRow } from "./fields.js";
import { showAll } from "./results.js";
import * as neckView from "./neck_view.js";

const root = $("fitting");
const order = root.dataset.order;
const given = JSON.parse($("content").textContent);
let form = JSON.parse($("form").textContent);
let version = Number(root.dataset.version);
let told = {};

// ---- asking the desk ------------------------------------------------------------------------------
let waiting = false;
let again = false;
const refresh = async () => {
  $("undo").disabled = !content.past.length;
  if (waiting) { again = true; return; }
  waiting = true;
  root.setAttribute("aria-busy", "true");
  try {
    const sent = performance.now();
    told = await post("/look", content.now);
    showAll(told, form, act);
    root.dataset.redrawn = String(Number(root.dataset.redrawn || 0) + 1);
    root.dataset.took = String(performance.now() - sent);
    sayHowSaved();
    if (content.dirty) papers.outdated();
  } catch (error) {
    say(`Not drawn: ${error.message}`, "bad");
  } finally {
    waiting = false;
    root.setAttribute("aria-busy", "false");
    if (again) { again = false; refresh(); }
  }
};
// A drawing that comes late says nothing over a save that is under way, or over why it was refused.
const sayHowSaved = () => {
  if (saving || refused === JSON.stringify(content.now)) return;
  say(content.dirty ? "not saved yet" : version > 1 ? "saved" : "", content.dirty ? "" : "good");
};
const changed = () => { refresh(); keepSoon(); };
const content = new Content(given.content, changed);
const act = (path, value) => {
  content.letGo();
  content.change(path, value);
  content.letGo();
  const input = $(idOf(path));
  if (input) input.value = content.at(path) ?? "";
};

// ---- building the page ----------------------------------------------------------------------------
const upright = (view, tape) => {
  const box = tape ? tape.getBBox() : null;
  view.setAttribute("viewBox", box && box.height && box.y + box.height > 114 ? view.dataset.far : view.dataset.near);
};
const showTape = (one) => {
  for (const view of document.querySelectorAll("#figure svg")) {
    let on = null;
    for (const tape of view.querySelectorAll(".tape")) {
      const meant = tape.dataset.key === one.key;
      tape.classList.toggle("on", meant);
      if (meant) on = tape;
    }
    view.classList.toggle("without", !on);
    upright(view, on);
  }
  $("how").replaceChildren(
    make("strong", { text: one.name.charAt(0).toUpperCase() + one.name.slice(1) }),
    ` ${one.how} `, make("span", { className: "soft", text: `Usually ${one.low} to ${one.high}${one.unit === "deg" ? "°" : ` ${content.now.unit}`}.${one.number ? ` ISO 8559-1, ${one.number}.` : ""}` }),
  );
};

const build = () => {
  for (const element of document.querySelectorAll("[data-field]")) element.value = content.at(element.dataset.field) ?? "";
  const row = (one) => measureRow(one, content, () => told, showTape);
  $("measure-rows").replaceChildren(
    make("fieldset", {}, make("legend", { text: "Needed" }), ...form.measurements.filter((one) => one.needed).map(row)),
    make("fieldset", {}, make("legend", { text: "Helpful: what you leave out is estimated (≈)" }), ...form.measurements.filter((one) => !one.needed).map(row)),
  );
  const fields = (rules) => rules.map((rule) => field(rule, content));
  $("block-fields").replaceChildren(...fields(form.block));
  const open = new Set([...document.querySelectorAll("#block-tables details[open] summary")].map((one) => one.textContent));
  $("block-tables").replaceChildren(...form.tables.map((table) =>
    make("details", { open: open.has(table.title) }, make("summary", { text: table.title }), make("div", { className: "fields" }, ...fields(table.fields)))));
  $("neckline-fields").replaceChildren(...fields(form.neckline));
  $("taped-fields").replaceChildren(...fields(form.taped));
  toile.build(form.fittings);
  buildCollars();
};
const kindOf = () => (content.now.collar || {}).kind || "none";
const buildCollars = () => {
  const kinds = [{ key: "none", title: "No collar" }, ...form.collars];
  $("collar-kinds").replaceChildren(...kinds.map((one) => {
    const input = make("input", { type: "radio", name: "kind", value: one.key, checked: one.key === kindOf() });
    input.addEventListener("change", () => {
      content.remember("");
      content.now.collar = { kind: one.key };
      buildCollarFields();
      changed();
    });
    const picture = make("span", { className: "silhouette", ariaHidden: "true" });
    picture.innerHTML = form.silhouette.replace("COLLAR", form.pictures[one.key] || form.pictures.none);
    return make("label", { className: "kind" }, input, picture, make("span", { text: one.title }));
  }));
  buildCollarFields();
};
const buildCollarFields = () => {
  const chosen = form.collars.find((one) => one.key === kindOf());
  const rules = chosen ? chosen.fields : [];
  const made = (making) => rules.filter((rule) => rule.making === making).map((rule) => field(rule, content, { slider: rule.unit !== "choice" }));
  $("collar-fields").replaceChildren(...made(false));
  $("collar-making-fields").replaceChildren(...made(true));
  $("collar-making").hidden = !rules.some((rule) => rule.making);
};

// ---- the tape's unit --------------------------------------------------------------------------------
const lengths = () => {
  const rules = [...form.measurements.filter((one) => one.unit === "cm"), ...form.block, ...form.neckline, ...form.taped,
    ...form.tables.flatMap((table) => table.fields)].filter((one) => ["cm", "in"].includes(one.unit));
  const collar = form.collars.find((one) => one.key === kindOf());
  const seen = content.now.toile.map((row, k) => (row.id === undefined ? `toile.${k}.amount` : "")).filter(Boolean);
  return [...rules, ...(collar ? collar.fields.filter((one) => ["cm", "in"].includes(one.unit)) : [])].map((one) => one.path).concat(seen);
};
const inUnit = async (unit) => {
  form = await get(`/form/${unit}`);
  build();
};
const turn = async (unit) => {
  const there = lengths().filter((path) => !Number.isNaN(plain(content.at(path) ?? "")));
  content.letGo();
  content.change("unit", unit);
  content.letGo();
  await inUnit(unit);
  const names = { cm: "centimetres", in: "inches" };
  $("turned").hidden = !there.length;
  if (!there.length) return;
  const [said, button] = $("turned").children;
  said.textContent = `What was written before is now read as ${names[unit]}.`;
  button.textContent = `No: turn it into ${names[unit]}${unit === "in" ? ", to the nearest sixteenth" : ", to the nearest millimetre"}`;
  button.onclick = () => {
    content.remember("");
    for (const path of there) {
      const value = plain(content.at(path));
      content.put(path, unit === "in" ? inches(value / 2.54) : Math.round(value * 25.4) / 10);
    }
    $("turned").hidden = true;
    build();
    changed();
    document.querySelector('[data-field="unit"]').focus();
  };
};

// ---- keeping and saving -----------------------------------------------------------------------------
let keeping = 0;
let keptAs = "";
let kept = Promise.resolve();
const keepSoon = () => {
  clearTimeout(keeping);
  keeping = setTimeout(keep, 700);
};
const keep = async (last = false) => {
  clearTimeout(keeping);
  keeping = 0;
  const sent = JSON.stringify({ content: content.dirty ? content.now : {}, version });
  if (sent === keptAs) return;
  keptAs = sent;
  kept = fetch(`/orders/${order}/typing`, { method: "POST", body: sent, keepalive: last, headers: { "Content-Type": "application/json" } })
    .catch(() => { keptAs = ""; });
  await kept;
};
let saving = null;
let refused = "";
const save = () => {
  if (!saving) saving = saveNow().finally(() => { saving = null; });
  return saving;
};
const saveNow = async () => {
  const sent = JSON.stringify(content.now);
  if (sent === content.saved) { say("saved", "good"); return true; }
  clearTimeout(keeping);
  keeping = 0;
  refused = "";
  say("saving …");
  await kept;
  try {
    const answer = await post(`/orders/${order}/save`, { content: content.now, version });
    version = answer.version;
    keptWithHer(JSON.parse(sent), answer.fittings);
    keptAs = "";
    $("found").hidden = true;
    say(content.dirty ? "not saved yet" : "saved", content.dirty ? "" : "good");
    return !content.dirty || saveNow();
  } catch (error) {
    refused = sent;
    say(`Not saved: ${error.message}`, "bad");
    if (error.status !== 409) return false;
    note("Another window saved this order meanwhile. What you typed here is kept: reload the page to see what was saved, and go back to your typing there.", "Reload", async () => {
      await keep(true);
      leaving = true;
      window.location.reload();
    });
    return false;
  }
};
// What was seen lies with her now: it is known by its number from here on, in what can be undone too.
const keptWithHer = (sent, fittings) => {
  content.saved = JSON.stringify({ ...sent, toile: fittings });
  if (sent.toile.every((row) => row.id !== undefined && !row.withdrawn)) return;
  content.turnAll((one) => ({ ...one, toile: toile.rebased(one.toile, sent.toile, fittings, one.unit) }));
  const held = document.activeElement;
  toile.build(form.fittings);
  if (held && !held.isConnected) $("toile-h").focus();
  refresh();
};
const note = (said, button, then) => {
  $("found").hidden = false;
  $("found-said").textContent = said;
  $("found-act").textContent = button;
  $("found-act").onclick = then;
};
const takeUp = (other) => {
  content.now = hers(other);
  if (form !== undefined && content.now.unit !== given.content.unit) return inUnit(content.now.unit).then(refresh);
  build();
  return refresh();
};
const hers = (typed) => ({ ...structuredClone(typed), toile: toile.met(typed.toile || [], JSON.parse(content.saved).toile) });
const found = () => {
  const typed = given.typed;
  if (!typed) return;
  const asSaved = () => {
    content.remember("");
    content.now = JSON.parse(content.saved);
    note("This is the order as it was saved.", "Go back to what I typed", mine);
    inUnit(content.now.unit).then(changed);
  };
  const mine = () => {
    content.remember("");
    takeUp(typed.content);
    note("This is what you typed; it is not saved yet.", "Go back to the saved order", asSaved);
    keepSoon();
  };
  if (typed.version === version) {
    content.now = hers(typed.content);
    note("This is what you typed; it is not saved yet.", "Go back to the saved order", asSaved);
  } else note("This order was saved in another window after you had typed here. You see it as it was saved; what you typed is still kept.", "Show what I typed", mine);
};
const undo = async () => {
  const held = document.activeElement ? document.activeElement.id : "";
  const unit = content.now.unit;
  if (!content.undo()) { say("nothing to undo"); return; }
  $("turned").hidden = true;
  if (content.now.unit !== unit) await inUnit(content.now.unit);
  else build();
  if (held && $(held)) $(held).focus();
  changed();
};
let leaving = false;
$("save").addEventListener("click", save);
$("undo").addEventListener("click", undo);
for (const element of document.querySelectorAll("[data-field]")) {
  element.addEventListener("input", () => {
    if (element.dataset.field === "unit") turn(element.value);
    else content.change(element.dataset.field, element.value);
  });
  element.addEventListener("blur", () => content.letGo());
}
document.addEventListener("keydown", (event) => {
  if (!(event.ctrlKey || event.metaKey) || event.altKey) return;
  if (event.key.toLowerCase() === "s") { event.preventDefault(); save(); }
});
window.addEventListener("beforeunload", (event) => {
  if (content.dirty && !leaving) event.preventDefault();
});
window.addEventListener("pagehide", () => { if (keeping) keep(true); });

// ---- where she is in the fitting --------------------------------------------------------------------
const steps = [...document.querySelectorAll(".steps a")];
const seen = new Map();
const here = () => {
  // the step whose part of the page lies across the upper third
  const line = window.innerHeight / 3;
  const asked = steps.filter((step) => $(step.hash.slice(1)).closest(".ask") || window.innerWidth < 1000);
  const at = asked.findLast((step) => $(step.hash.slice(1)).getBoundingClientRect().top <= line) || asked[0];
  const strip = at.parentElement;
  if (!at.hasAttribute("aria-current") && strip.scrollWidth > strip.clientWidth) strip.scrollLeft = at.offsetLeft - strip.offsetLeft - strip.clientWidth / 3;
  for (const step of steps) {
    if (step === at) step.setAttribute("aria-current", "step");
    else step.removeAttribute("aria-current");
  }
};
document.addEventListener("scroll", () => requestAnimationFrame(here), { passive: true });
here();

drawing.ready();
neckView.ready(root, () => content.now);
papers.ready(order, save);
toile.ready({ content, changed });
found();
if (content.now.unit !== given.content.unit) inUnit(content.now.unit).then(refresh);
else { build(); refresh(); }
