// The fields of the page, made from the rules the desk tells.
import { $, capital, make } from "./page.js";
import { plain, shown, stepped, written } from "./numbers.js";

export const idOf = (path) => `f-${path.replace(/[. ]/g, "-")}`;
const hint = (id) => make("span", { id: `${id}-hint`, className: "hint" });

const help = (rule, id, range) => {
  const said = [rule.help, range, rule.source && `From: ${rule.source}.`].filter(Boolean);
  return said.length ? make("span", { id: `${id}-help`, className: "help", text: said.join(" ") }) : null;
};

// Enter goes on to the next number, arrows step; what is typed goes to the card at once.
export const numeric = (input, path, content, { unit, step, start, typed }) => {
  input.addEventListener("input", () => {
    content.change(path, written(input.value));
    if (typed) typed();
  });
  input.addEventListener("blur", () => content.letGo());
  input.addEventListener("keydown", (event) => {
    if (event.key === "Enter") {
      event.preventDefault();
      const all = [...document.querySelectorAll("input[data-number]")].filter((one) => one.offsetParent);
      const next = all[all.indexOf(input) + (event.shiftKey ? -1 : 1)];
      if (next) { next.focus(); next.select(); }
      return;
    }
    if (event.key !== "ArrowUp" && event.key !== "ArrowDown") return;
    event.preventDefault();
    input.value = stepped(input.value, start(), step, unit, event.key === "ArrowUp");
    content.change(path, written(input.value));
    if (typed) typed();
  });
};

const numberInput = (id, value) => {
  const input = make("input", { id, type: "text", inputMode: "decimal", autocomplete: "off", size: 7 });
  input.dataset.number = "";
  input.value = value ?? "";
  return input;
};

const choiceField = (rule, content) => {
  const id = idOf(rule.path);
  const input = make("select", { id });
  if (rule.default === null) input.append(make("option", { value: "", text: "as usual" }));
  for (const choice of rule.choices) input.append(make("option", { value: choice, text: choice }));
  input.value = content.at(rule.path) ?? rule.default ?? "";
  input.dataset.path = rule.path;
  const more = help(rule, id, "");
  input.setAttribute("aria-describedby", `${id}-hint${more ? ` ${id}-help` : ""}`);
  input.addEventListener("change", () => { content.letGo(); content.change(rule.path, input.value); content.letGo(); });
  return make("div", { className: "field" }, make("label", { htmlFor: id, text: capital(rule.name) }), input, more, hint(id));
};

export const field = (rule, content, { slider = false } = {}) => {
  if (rule.unit === "choice") return choiceField(rule, content);
  const id = idOf(rule.path);
  const input = numberInput(id, content.at(rule.path));
  const standing = rule.default === null ? "" : shown(rule.default, rule.unit);
  input.placeholder = standing;
  input.dataset.path = rule.path;
  const usual = rule.usual && rule.usual.map((end) => shown(end, rule.unit));
  const range = `${usual ? `Usually ${usual[0]} to ${usual[1]}. ` : ""}${rule.accepted} is possible.`;
  const more = help(rule, id, range);
  input.setAttribute("aria-describedby", `${id}-hint ${id}-help`);
  const slide = slider ? sliderFor(rule, input, content) : null;
  const follow = () => slide && slide.follow();
  numeric(input, rule.path, content, {
    unit: rule.unit, step: rule.step, start: () => input.placeholder || shown(rule.low, rule.unit), typed: follow,
  });
  const label = make("label", { htmlFor: id, text: capital(rule.name) });
  const wrap = make("div", { className: slider ? "field slider" : "field" }, label, slide && slide.element, input, more, hint(id));
  wrap.stand = (text) => { input.placeholder = text; follow(); };
  wrap.dataset.path = rule.path;
  return wrap;
};

// A slider with what is usual marked on it; the number beside it is the same thing written.
const sliderFor = (rule, input, content) => {
  const range = make("input", { type: "range", min: rule.low, max: rule.high, step: rule.step, "aria-label": `${capital(rule.name)}, slider`, tabIndex: -1 });
  const track = make("div", { className: "track" }, range);
  if (rule.usual) {
    const share = (value) => ((value - rule.low) / (rule.high - rule.low)) * 100;
    const band = make("span", { className: "band" });
    // the thumb's middle runs from 0.6 rem to 0.6 rem before the end
    band.style.insetInlineStart = `calc(0.6rem + (100% - 1.2rem) * ${share(rule.usual[0]) / 100})`;
    band.style.inlineSize = `calc((100% - 1.2rem) * ${(share(rule.usual[1]) - share(rule.usual[0])) / 100})`;
    track.prepend(band);
  }
  const follow = () => {
    const value = plain(input.value === "" ? input.placeholder : input.value);
    if (!Number.isNaN(value)) range.value = value;
    range.classList.toggle("standing", input.value === "");
  };
  range.addEventListener("input", () => {
    input.value = shown(Number(range.value), rule.unit);
    range.classList.remove("standing");
    content.change(rule.path, written(input.value));
  });
  range.addEventListener("change", () => content.letGo());
  follow();
  return { element: track, follow };
};

export const measureRow = (one, content, told, shownTape) => {
  const id = idOf(one.path);
  const input = numberInput(id, content.at(one.path));
  input.dataset.path = one.path;
  input.setAttribute("aria-describedby", `${id}-hint ${id}-estimate ${id}-usual`);
  input.addEventListener("focus", () => shownTape(one));
  const unit = one.unit === "deg" ? "deg" : content.now.unit;
  numeric(input, one.path, content, {
    unit,
    step: unit === "deg" ? 0.5 : unit === "in" ? 1 / 16 : 0.1,
    start: () => ((told().estimated || {})[one.key] || one.low).replace(/[^\d./ -]/g, "").trim(),
  });
  const usual = `usually ${one.low} to ${one.high}${one.unit === "deg" ? "°" : ""}`;
  return make(
    "div", { className: "measure" },
    make("label", { htmlFor: id, text: capital(one.name) }),
    input,
    make("span", { id: `${id}-estimate`, className: "only-read" }),
    make("span", { id: `${id}-usual`, className: "range", text: usual }),
    hint(id),
  );
};

export const hintAt = (path, said, kind) => {
  const input = $(idOf(path));
  if (!input) return false;
  const place = $(`${input.id}-hint`);
  place.textContent = place.textContent ? `${place.textContent} ${said}` : said;
  input.closest(".field, .measure").classList.add(kind);
  if (kind === "wrong") input.setAttribute("aria-invalid", "true");
  return true;
};

export const clearHints = () => {
  for (const one of document.querySelectorAll(".hint:not(:empty)")) one.textContent = "";
  for (const one of document.querySelectorAll("[aria-invalid]")) one.removeAttribute("aria-invalid");
  for (const one of document.querySelectorAll(".slip, .wrong, .needed")) one.classList.remove("slip", "wrong", "needed");
};
