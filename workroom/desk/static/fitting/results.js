// What comes back from the desk, shown: slips, the neck, the checks, the pieces in words.
import { $, SIGN, capital, make } from "./page.js";
import { clearHints, hintAt, idOf } from "./fields.js";
import * as drawing from "./drawing.js";
import * as toile from "./toile.js";

export const showAll = (told, form, act) => {
  clearHints();
  const missing = showProblems(told.problems || [], form);
  for (const one of told.unusual || []) hintAt(`measurements.${one.key}`, `? ${one.said}`, "slip");
  showEstimates(told, form);
  for (const [path, text] of Object.entries(told.standing || {})) stand(path, text);
  $("drawing").classList.toggle("stale", !told.svg);
  $("before").hidden = Boolean(told.svg) || !$("passed").querySelector("li");
  if (told.svg) drawing.draw(told.svg);
  if (told.neck) showNeck(told, act);
  if (told.checks) showChecks(told);
  toile.show(told);
  if (told.pieces) showPieces(told.pieces);
  $("numbers-all").hidden = !(told.numbers || []).length;
  $("numbers").replaceChildren(...(told.numbers || []).flatMap(([name, value]) => [make("dt", { text: capital(name) }), make("dd", { text: value })]));
  $("stamp").hidden = !told.stamp;
  $("stamp").textContent = told.stamp || "";
  $("papers-warning").hidden = !told.stamp;
  showVerdict(told, missing);
};

const stand = (path, text) => {
  const input = $(idOf(path));
  if (!input) return;
  if (input.tagName === "SELECT") return;
  const wrap = input.closest(".field");
  if (wrap && wrap.stand) wrap.stand(text);
};

const nameOf = (key, form) => {
  const last = key.split(".").pop();
  const measured = form.measurements.find((one) => one.key === last);
  if (measured) return measured.name;
  const input = $(idOf(key));
  const label = input && document.querySelector(`label[for="${CSS.escape(input.id)}"]`);
  return label ? label.textContent : last.replace(/_/g, " ");
};

const showProblems = (problems, form) => {
  const missing = problems.filter((one) => one.said.startsWith("this is missing") || one.said.startsWith("both arcs"));
  const lines = problems.filter((one) => !missing.includes(one)).map((one) => {
    const told = [one.accepted && `accepted: ${one.accepted}`].filter(Boolean).join("; ");
    const advice = one.advice.startsWith(nameOf(one.key, form)) ? "" : one.advice; // the label says it
    const said = `${one.said}${told ? `; ${told}` : ""}${advice ? `. ${advice}` : ""}`;
    hintAt(one.key, `✗ ${said}`, "wrong");
    return `${one.key ? `${capital(nameOf(one.key, form))}: ` : ""}${said}`;
  });
  if (missing.length) {
    lines.unshift(`Still to take: ${missing.map((one) => nameOf(one.key, form)).join(", ")}.`);
    for (const one of missing) hintAt(one.key, "needed for the draft", "needed");
  }
  $("problems").hidden = !lines.length;
  $("problems").replaceChildren(...lines.map((text) => make("li", { text })));
  return missing.length === problems.length ? missing.length : 0;
};

const showEstimates = (told, form) => {
  if (!told.estimated) return;
  for (const one of form.measurements) {
    const input = $(idOf(one.path));
    const estimate = told.estimated[one.key];
    input.placeholder = estimate ? `≈ ${estimate}` : "";
    input.classList.toggle("estimated", Boolean(estimate) && input.value === "");
    $(`${input.id}-estimate`).textContent = estimate ? `not taken, estimated at ${estimate}` : "";
  }
};

const showNeck = (told, act) => {
  const neck = told.neck;
  const pins = [
    ["her neck", neck.neck_girth, neck.neck_girth_said, "neck"],
    ["closed collar", neck.closed, neck.closed_said, "collar"],
    ["neck base and ease", neck.target, neck.target_said, "target"],
    ["as the method draws it", neck.drafted, neck.drafted_said, "drafted"],
    ["the neckline", neck.whole, neck.whole_said, "whole"],
  ].filter((pin) => pin[1]).sort((a, b) => a[1] - b[1]);
  const low = Math.floor(Math.min(...pins.map((pin) => pin[1])) - 1);
  const high = Math.ceil(Math.max(...pins.map((pin) => pin[1])) + 1);
  const x = (value) => (10 + ((value - low) / (high - low)) * 300).toFixed(2);
  const down = (k) => 36 + 15 * k;
  const parts = [`<svg viewBox="0 0 320 ${down(pins.length - 1) + 8}" role="img" aria-label="One tape with the neck, the collar and the neckline on it"><rect class="tape-line" x="4" y="4" width="312" height="14" rx="2"/>`];
  const every = high - low > 16 ? 1 : 0.5;
  for (let at = low; at <= high; at += every) {
    parts.push(`<path class="tick" d="M${x(at)} 18 v${Number.isInteger(at) ? -6 : -3}"/>`);
  }
  pins.forEach(([name, value, said, kind], k) => {
    const left = Number(x(value)) > 160;
    parts.push(`<path class="pin pin-${kind}" d="M${x(value)} 4 V${down(k) - 4}"/><circle class="pin-${kind}" cx="${x(value)}" cy="${down(k) - 3}" r="2.2"/><text x="${Number(x(value)) + (left ? -6 : 6)}" y="${down(k)}" text-anchor="${left ? "end" : "start"}">${name} <tspan class="number">${said}</tspan></text>`);
  });
  $("neck-picture").innerHTML = `${parts.join("")}</svg>`; // numbers and our own words only
  $("neck-said").replaceChildren(...(told.neckline || []).slice(0, 2).map((text) => make("p", { text: `${capital(text)}.` })));
  const corrections = neck.corrections || [];
  const held = document.activeElement && document.activeElement.dataset ? document.activeElement.dataset.correction : "";
  $("corrections").replaceChildren(...corrections.map((one) => {
    const button = make("button", { type: "button", disabled: !one.possible, "aria-pressed": String(one.applied) },
      make("strong", { text: `${one.applied ? "✓ " : ""}${capital(one.key)}` }), make("span", { text: one.said }));
    button.dataset.correction = one.key;
    button.addEventListener("click", () => act("neckline.fit", one.applied ? "none" : one.key));
    return button;
  }));
  if (held) { const again = $("corrections").querySelector(`[data-correction="${held}"]`); if (again) again.focus(); }
};

const checkItem = (one) => {
  const where = one.where ? ` (${one.where})` : "";
  const item = make("li", { className: one.verdict },
    make("p", {}, make("strong", { text: `${SIGN[one.verdict]} ` }), `${capital(one.name)}${where}: `,
      make("span", { className: "number", text: one.measured }), `, wanted ${one.wanted}.`));
  if (one.advice) item.append(make("p", { text: one.advice }));
  if (one.source) item.title = one.source;
  if (one.edges.length) {
    const button = make("button", { type: "button", className: "small", text: "Show it", "aria-label": `Show it: ${one.name}` });
    button.addEventListener("click", () => drawing.show(one.edges));
    item.append(button);
  }
  return item;
};

const showChecks = (told) => {
  const open = told.checks.filter((one) => one.verdict !== "pass");
  const passed = told.checks.filter((one) => one.verdict === "pass");
  $("check-list").replaceChildren(...open.map(checkItem));
  $("passed").hidden = !passed.length;
  $("passed").querySelector("summary").textContent = `${passed.length} of ${told.checks.length} checks passed`;
  $("passed").querySelector("ul").replaceChildren(...passed.map(checkItem));
  $("notes").replaceChildren(...(told.notes || []).map((text) => make("li", { text })));
  drawing.mark(new Set(open.filter((one) => one.verdict === "fail").flatMap((one) => one.edges)));
};

const showPieces = (pieces) => {
  if (!$("words").open) { $("words").ontoggle = () => $("words").open && showPieces(pieces); return; }
  $("words").ontoggle = null;
  $("pieces").replaceChildren(...pieces.flatMap((piece) => [
    make("h3", { text: `${piece.title}: ${piece.cut}` }),
    make("ul", {}, ...piece.edges.map((edge) => make("li", {
      text: `${edge.name} ${edge.length}${edge.fold ? ", on the fold" : ""}${edge.sewn ? `, sewn to ${edge.sewn}` : ""}`,
    }))),
  ]));
};

const showVerdict = (told, missing) => {
  const place = $("verdict");
  const failed = (told.checks || []).filter((one) => one.verdict === "fail").length;
  const look = (told.checks || []).filter((one) => one.verdict === "note").length;
  const [text, kind] = !told.checks
    ? missing ? [`… ${missing} still to take`, "wait"] : [`✗ ${(told.problems || []).length} to put right`, "bad"]
    : failed ? [`✗ ${failed} failed`, "bad"]
      : look ? [`! ${look} to look at`, "look"] : [`✓ ${told.checks.length} checks passed`, "good"];
  place.textContent = text;
  place.className = `verdict ${kind}`;
};
