// What was seen on her at a fitting: said in the trade's words, tried in the draft at once, kept with
// her by Save. What lies in the book is never changed here, only withdrawn.
import { $, SIGN, capital, make } from "./page.js";
import { idOf, numeric } from "./fields.js";
import { inches } from "./numbers.js";

const isNew = (row) => row.id === undefined;
const pad = (value) => String(value).padStart(2, "0");
const today = () => {
  const now = new Date();
  return `${now.getFullYear()}-${pad(now.getMonth() + 1)}-${pad(now.getDate())}`;
};

// ---- rows of another moment, seen from what the book has ----------------------------------------------

// What was typed earlier: what the book has now, withdrawn where it was to be; what was new comes last.
export const met = (rows, book) => {
  const same = (row) => book.some((one) => one.date === row.date && one.seen === row.seen && parseFloat(one.amount) === parseFloat(row.amount));
  const gone = (one) => rows.some((row) => row.id === one.id && row.withdrawn);
  return [...book.map((one) => (gone(one) ? { ...one, withdrawn: true } : { ...one })), ...rows.filter((row) => isNew(row) && !same(row))];
};

// After a save, what can be undone means the same as before: to undo what was kept is to withdraw it, to
// undo what was withdrawn is to say it anew.
export const rebased = (rows, sent, book, unit) => {
  const came = book.filter((one) => !sent.some((row) => row.id === one.id)).sort((a, b) => a.id - b.id);
  const key = (row) => JSON.stringify([row.date, row.seen, row.amount]);
  const kept = new Map(sent.filter(isNew).map((row, k) => [key(row), came[k].id]));
  const numberOf = (row) => (isNew(row) ? kept.get(key(row)) : row.id);
  const holds = (one) => rows.some((row) => numberOf(row) === one.id && !row.withdrawn);
  const anew = ({ id, ...row }) => ({ ...row, amount: id !== undefined && unit === "cm" ? parseFloat(row.amount) : row.amount });
  return [
    ...book.map((one) => (holds(one) ? { ...one } : { ...one, withdrawn: true })),
    ...rows.filter((row) => !row.withdrawn && !book.some((one) => one.id === numberOf(row))).map(anew),
  ];
};

// ---- the part of the page -------------------------------------------------------------------------------
let content;
let form;
let changed;
let idle = new Set();

export const ready = (its) => {
  ({ content, changed } = its);
  $("fitting-day").value = today();
  $("fitting-day").addEventListener("input", () => {
    const fresh = rows().filter(isNew);
    if (!$("fitting-day").value || !fresh.length) return;
    content.remember("fitting-day");
    for (const row of fresh) row.date = $("fitting-day").value;
    changed();
  });
  $("fitting-day").addEventListener("blur", () => content.letGo());
  $("find-words").addEventListener("input", find);
  $("find-words").addEventListener("keydown", (event) => {
    if (event.key !== "Enter") return;
    event.preventDefault();
    const left = [...document.querySelectorAll(".word:not([hidden])")];
    if (left.length === 1) left[0].click();
  });
};

const rows = () => content.now.toile;
const find = () => {
  const sought = $("find-words").value.trim().toLocaleLowerCase().split(/\s+/);
  const words = [...document.querySelectorAll(".word")];
  for (const one of words) one.hidden = !sought.every((part) => one.dataset.words.includes(part));
  for (const group of document.querySelectorAll("#words-seen fieldset")) group.hidden = !group.querySelector(".word:not([hidden])");
  const left = words.filter((one) => !one.hidden).length;
  $("words-left").textContent = left === words.length ? "" : left ? `${left} of ${words.length}` : "No such words.";
};

export const build = (its) => {
  form = its;
  const now = rows();
  const fresh = now.find(isNew);
  if (fresh) $("fitting-day").value = fresh.date;
  $("holding").replaceChildren(...now.map((row, k) => (isNew(row) ? null : keptRow(row, k))).filter(Boolean));
  $("holding-part").hidden = now.every(isNew);
  $("just-seen").replaceChildren(...now.map((row, k) => (isNew(row) ? newRow(row, k) : null)).filter(Boolean));
  $("words-seen").replaceChildren(...form.map((group) => make("fieldset", {}, make("legend", { text: group.title }), ...group.words.map(word))));
  find();
};

const word = (one) => {
  const on = rows().some((row) => isNew(row) && row.seen === one.words);
  const button = make("button", { type: "button", id: `w-${one.words.replace(/ /g, "-")}`, className: "word", "aria-pressed": String(on) },
    make("span", { text: `${on ? "✓ " : ""}${one.words}` }), make("span", { className: "only-read" }));
  button.dataset.words = one.words;
  mark(button);
  button.addEventListener("click", () => (on ? takeAway(one.words) : say(one)));
  return button;
};

const mark = (button) => {
  const useless = idle.has(button.dataset.words);
  button.classList.toggle("idle", useless);
  button.lastElementChild.textContent = useless ? ", nothing on this order changes for it" : "";
};

const act = (then, focus) => {
  content.remember("");
  then();
  build(form);
  changed();
  if ($(focus)) $(focus).focus();
};
const say = (one) => act(
  () => rows().push({ date: $("fitting-day").value || today(), seen: one.words }),
  idOf(`toile.${rows().length}.amount`),
);
const takeAway = (words) => act(
  () => { content.now.toile = rows().filter((row) => !isNew(row) || row.seen !== words); },
  `w-${words.replace(/ /g, "-")}`,
);
const withdraw = (k, gone) => act(() => {
  const { withdrawn, ...row } = rows()[k];
  rows()[k] = gone ? { ...row, withdrawn: true } : row;
}, `hold-${k}`);

const length = (cm) => {
  if (content.now.unit !== "in") return `${Math.round(cm * 1000) / 1000} cm`;
  const value = cm / 2.54;
  return `${Math.abs(Math.round(value * 16) / 16 - value) <= 1 / 64 ? inches(value) : value.toFixed(2)} in`;
};
const turns = (k) => make("p", { id: `turns-${k}`, className: "turns" });

const keptRow = (row, k) => {
  const what = make(row.withdrawn ? "del" : "span", {}, make("strong", { text: capital(row.seen) }),
    " ", make("span", { className: "number", text: length(parseFloat(row.amount)) }));
  const button = make("button", {
    type: "button", id: `hold-${k}`, className: "small", text: row.withdrawn ? "Apply again" : "Withdraw",
    "aria-label": `${row.withdrawn ? "Apply again" : "Withdraw"}: ${row.seen}`,
  });
  button.addEventListener("click", () => withdraw(k, !row.withdrawn));
  return make("li", { className: row.withdrawn ? "gone" : "" }, make("p", { className: "what" }, what, make("span", { className: "soft", text: row.date }), button), turns(k));
};

const newRow = (row, k) => {
  const path = `toile.${k}.amount`;
  const id = idOf(path);
  const one = form.flatMap((group) => group.words).find((each) => each.words === row.seen);
  const unit = content.now.unit;
  const input = make("input", { id, type: "text", inputMode: "decimal", autocomplete: "off", size: 7, placeholder: one ? one.usual : "" });
  input.dataset.number = "";
  input.value = row.amount ?? "";
  input.setAttribute("aria-describedby", `${id}-hint ${id}-what turns-${k}`);
  numeric(input, path, content, { unit, step: one ? one.step : 0.1, start: () => (one ? one.usual : "0") });
  const away = make("button", { type: "button", className: "small", text: "Remove", "aria-label": `Remove: ${row.seen}` });
  away.addEventListener("click", () => takeAway(row.seen));
  const told = one ? `${capital(one.amount)}. Usually ${one.usual}, at most ${one.most} ${unit}.` : "";
  return make("li", { className: "field" },
    make("p", { className: "what" }, make("label", { htmlFor: id }, make("strong", { text: capital(row.seen) }), make("span", { className: "only-read", text: `, how much, ${unit}` })),
      input, make("span", { ariaHidden: "true", text: unit }), away),
    make("p", { id: `${id}-what`, className: "soft", text: told }),
    make("span", { id: `${id}-hint`, className: "hint" }),
    turns(k));
};

// ---- what comes back from the desk -------------------------------------------------------------------------
export const show = (told) => {
  const fittings = told.fittings || { rows: [], together: [], idle: [] };
  for (const place of document.querySelectorAll("#toile .turns")) {
    const k = Number(place.id.split("-")[1]);
    const row = fittings.rows[k];
    const kept = rows()[k] || {};
    place.textContent = kept.withdrawn ? "No longer applied once you save." : row ? `${capital(row.said)}.` : "";
    place.classList.toggle("idle", Boolean(row && row.idle));
  }
  const wrong = (told.problems || []).filter((one) => one.key === "toile");
  $("toile-wrong").hidden = !wrong.length;
  $("toile-wrong").textContent = wrong.map((one) => [capital(one.said), one.accepted && `accepted: ${one.accepted}`, one.advice].filter(Boolean).join(". ")).join(" ");
  $("toile-together").replaceChildren(...fittings.together.map((text) => make("p", { text })));
  if (told.fittings) {
    idle = new Set(fittings.idle);
    for (const one of document.querySelectorAll(".word")) mark(one);
    $("idle-said").hidden = !idle.size;
  }
  showChanges(told);
};

const showChanges = (told) => {
  const changes = told.compared;
  const part = $("changes");
  part.hidden = !changes;
  $("was-said").hidden = !changes || Boolean(changes.refused);
  if (!changes) {
    $("changes-said").textContent = "";
    return;
  }
  const { checks, numbers, edges } = changes.refused ? { checks: [], numbers: [], edges: [] } : changes;
  $("changes-table").hidden = !checks.length && !numbers.length;
  $("changes-edges").hidden = !edges.length;
  if (changes.refused) {
    $("changes-said").textContent = `Before this there was no draft: ${changes.refused}.`;
    return;
  }
  const worse = checks.filter((row) => row.now === "fail" && row.was !== "fail").length;
  $("changes-said").textContent = [
    checks.length || numbers.length || edges.length ? "" : "Nothing changes on this order.",
    worse ? `✗ ${counted(worse, "check fails", "checks fail")} now that did not before.` : "",
    numbers.length || edges.length ? `${counted(numbers.length, "number", "numbers")} and ${counted(edges.length, "edge", "edges")} change.` : "",
    changes.quiet ? `${counted(changes.quiet, "more check changes but still passes", "more checks change but still pass")}.` : "",
  ].filter(Boolean).join(" ");
  $("changes-table").replaceChildren(table([["Checks", checks], ["Neckline and collar", numbers]]));
  $("changes-edges").querySelector("summary").textContent = `${counted(edges.length, "edge", "edges")}, as the tape goes along them`;
  $("edges-table").replaceChildren(table([["", edges]]));
};

const counted = (count, one, many) => `${count} ${count === 1 ? one : many}`;
const cell = (text, verdict) => make("td", { className: verdict || "", text: verdict ? `${SIGN[verdict]} ${text}` : text });
const table = (groups) => make("table", {},
  make("thead", {}, make("tr", {}, ...["What", "Before", "After", "Change"].map((text) => make("th", { scope: "col", text })))),
  ...groups.filter(([, each]) => each.length).map(([title, each]) => make("tbody", {},
    title ? make("tr", {}, make("th", { scope: "rowgroup", colSpan: 4, className: "group", text: title })) : null,
    ...each.map((row) => make("tr", {}, make("th", { scope: "row", text: capital(row.name) }), cell(row.before, row.was), cell(row.after, row.now), cell(row.change))))));
