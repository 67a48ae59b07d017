"use strict";
// The fitting: what is typed goes to the desk as a card's content, what comes back is shown. Nothing
// is kept until Save.
(() => {
  const $ = (id) => document.getElementById(id);
  const root = $("fitting");
  const content = JSON.parse($("content").textContent);
  let form = JSON.parse($("form").textContent);
  let version = Number(root.dataset.version);
  const order = root.dataset.order;
  const past = [];
  let saved = JSON.stringify(content);
  let told = null;
  let waiting = false;
  let again = false;

  const make = (tag, attributes = {}, ...children) => {
    const element = document.createElement(tag);
    for (const [key, value] of Object.entries(attributes)) {
      if (key === "text") element.textContent = value;
      else if (key in element && key !== "list") element[key] = value;
      else element.setAttribute(key, value);
    }
    element.append(...children);
    return element;
  };
  const say = (text, kind = "") => {
    $("state").textContent = text;
    $("state").className = `state ${kind}`;
  };

  // ---- reading and writing the content ----------------------------------------------------------
  const at = (path) => path.split(".").reduce((table, key) => (table || {})[key], content);
  const put = (path, value) => {
    const keys = path.split(".");
    const last = keys.pop();
    let table = content;
    for (const key of keys) table = table[key] = typeof table[key] === "object" && table[key] ? table[key] : {};
    if (value === "" || value === null || value === undefined) delete table[last];
    else table[last] = value;
  };
  const remember = () => {
    const now = JSON.stringify(content);
    if (past[past.length - 1] !== now) past.push(now);
    if (past.length > 200) past.shift();
  };
  const change = (path, value) => {
    remember();
    put(path, value);
    refresh();
  };
  const number = (text) => {
    const trimmed = String(text).trim();
    return /^-?\d+(\.\d+)?$/.test(trimmed) ? Number(trimmed) : trimmed;
  };

  // ---- fractions of an inch ---------------------------------------------------------------------
  const inches = (value) => {
    const sixteenths = Math.round(value * 16);
    const whole = Math.trunc(sixteenths / 16);
    let top = Math.abs(sixteenths % 16);
    let bottom = 16;
    while (top && top % 2 === 0) { top /= 2; bottom /= 2; }
    if (!top) return String(whole);
    return `${whole ? whole + " " : sixteenths < 0 ? "-" : ""}${top}/${bottom}`;
  };
  const plain = (text) => {
    const match = String(text).trim().replace(",", ".").match(/^(-?\d+(?:\.\d+)?)?\s*(?:(\d+)\/(\d+))?$/);
    if (!match || (match[1] === undefined && !match[2])) return NaN;
    const part = match[2] ? Number(match[2]) / Number(match[3]) : 0;
    const whole = Number(match[1] || 0);
    return whole < 0 ? whole - part : whole + part;
  };
  const stepped = (text, up, angle, start) => {
    const inInches = content.unit === "in" && !angle;
    let value = plain(text);
    if (Number.isNaN(value)) value = plain(start);
    if (Number.isNaN(value)) return text;
    const step = angle ? 0.5 : inInches ? 1 / 16 : 0.1;
    value = Math.round(value / step) * step + (up ? step : -step);
    return inInches ? inches(value) : String(Math.round(value * 100) / 100);
  };

  // ---- fields -------------------------------------------------------------------------------------
  const field = (rule, path, { slider = false } = {}) => {
    const id = `f-${path.replace(/\./g, "-")}`;
    const label = make("label", { htmlFor: id, text: rule.name });
    let input;
    if (rule.unit === "choice") {
      input = make("select", { id });
      if (rule.default === null || rule.default === undefined) input.append(make("option", { value: "", text: "–" }));
      for (const choice of rule.choices) input.append(make("option", { value: choice, text: choice }));
      input.value = at(path) ?? rule.default ?? "";
      input.addEventListener("change", () => change(path, input.value));
      return make("div", { className: "field", title: rule.meaning }, label, input, hint(id));
    }
    input = make("input", { id, inputMode: "decimal", autocomplete: "off", size: 7 });
    input.value = at(path) ?? "";
    input.placeholder = rule.default === null || rule.default === undefined ? "" : String(rule.default);
    input.setAttribute("aria-describedby", `${id}-hint`);
    const parts = [label];
    let range = null;
    if (slider) {
      range = make("input", { type: "range", min: rule.low, max: rule.high, step: rule.step, ariaLabel: `${rule.name}, slider` });
      range.value = plain(at(path) ?? rule.default);
      range.addEventListener("input", () => {
        input.value = rule.unit === "in" ? inches(Number(range.value)) : range.value;
        change(path, number(input.value));
      });
      parts.push(range);
    }
    const typed = () => {
      if (range && !Number.isNaN(plain(input.value))) range.value = plain(input.value);
      change(path, number(input.value));
    };
    input.addEventListener("input", typed);
    input.addEventListener("keydown", (event) => {
      if (event.key !== "ArrowUp" && event.key !== "ArrowDown") return;
      event.preventDefault();
      const up = event.key === "ArrowUp";
      if (rule.unit === "number") {
        const value = Number.isNaN(plain(input.value)) ? Number(rule.default ?? rule.low) : plain(input.value);
        input.value = String(Math.round((value + (up ? rule.step : -rule.step)) * 100) / 100);
      } else input.value = stepped(input.value, up, rule.unit === "deg", rule.default ?? rule.low);
      typed();
    });
    parts.push(input, make("span", { className: "range", text: rule.accepted }), hint(id));
    return make("div", { className: slider ? "field slider" : "field", title: rule.meaning }, ...parts);
  };
  const hint = (id) => make("span", { id: `${id}-hint`, className: "hint" });

  const measureRow = (one) => {
    const path = `measurements.${one.key}`;
    const id = `f-measurements-${one.key}`;
    const input = make("input", { id, inputMode: "decimal", autocomplete: "off", size: 7 });
    input.value = at(path) ?? "";
    input.setAttribute("aria-describedby", `${id}-hint ${id}-usual`);
    input.addEventListener("input", () => change(path, number(input.value)));
    input.addEventListener("focus", () => showTape(one));
    input.addEventListener("keydown", (event) => {
      if (event.key === "Enter") {
        event.preventDefault();
        const all = [...$("measure-rows").querySelectorAll("input")];
        const next = all[all.indexOf(input) + 1];
        if (next) next.focus();
        return;
      }
      if (event.key !== "ArrowUp" && event.key !== "ArrowDown") return;
      event.preventDefault();
      const estimate = (told && told.estimated && told.estimated[one.key]) || one.low;
      input.value = stepped(input.value, event.key === "ArrowUp", one.unit === "deg", String(estimate).replace(/ (cm|in)|°/, ""));
      change(path, number(input.value));
    });
    const usual = `usually ${one.low} to ${one.high}${one.unit === "deg" ? "°" : ""}`;
    return make(
      "div", { className: "measure" },
      make("label", { htmlFor: id, text: one.name }),
      input,
      make("span", { id: `${id}-usual`, className: "range", text: usual }),
      hint(id),
    );
  };
  const showTape = (one) => {
    for (const tape of document.querySelectorAll("#figure .tape")) tape.classList.toggle("on", tape.dataset.key === one.key);
    const name = one.name[0].toUpperCase() + one.name.slice(1);
    $("how").textContent = `${name}${one.number ? ` (ISO 8559-1, ${one.number})` : ""}. ${one.how}`;
  };

  const build = () => {
    for (const element of document.querySelectorAll("[data-field]")) element.value = at(element.dataset.field) ?? "";
    const needed = form.measurements.filter((one) => one.needed_by.length);
    const rest = form.measurements.filter((one) => !one.needed_by.length);
    const first = make("fieldset", {}, make("legend", { text: "Take these" }), ...needed.map(measureRow));
    const second = make("fieldset", {}, make("legend", { text: "Take these too, or they are estimated" }), ...rest.map(measureRow));
    $("measure-rows").replaceChildren(first, second);
    const method = { key: "method", name: "method", unit: "choice", choices: form.methods.map((one) => one.key), default: "direct-measure", meaning: "The drafting method" };
    const allowance = { key: "seam_allowance", name: "seam allowance", unit: content.unit, default: content.unit === "in" ? "3/8" : 1, low: 0, high: 5, step: 0.1, accepted: "", meaning: "All round" };
    const stand = { key: "button_stand", name: "button stand", unit: content.unit, default: content.unit === "in" ? "9/16" : 1.5, low: 0, high: 8, step: 0.1, accepted: "0 for a front on the fold", meaning: "Beyond centre front" };
    $("block-fields").replaceChildren(...[method, allowance, stand].map((rule) => field(rule, `garment.${rule.key}`)));
    $("block-tables").replaceChildren(
      ...Object.entries(form.options).map(([table, rules]) =>
        make("details", {}, make("summary", { text: table[0].toUpperCase() + table.slice(1) }),
          make("div", { className: "fields" }, ...rules.map((rule) => field(rule, `garment.${table}.${rule.key}`))))),
    );
    const fit = { key: "fit", name: "fit to the neck", unit: "choice", choices: ["none", "front", "side", "both"], default: "both", meaning: "Where the neckline may be corrected" };
    const length = (key, name, meaning) => ({ key, name, unit: content.unit, default: key === "ease" ? (content.unit === "in" ? "3/16" : 0.5) : 0, low: 0, high: 20, step: 0.1, accepted: "", meaning });
    $("neckline-fields").replaceChildren(
      field(fit, "neckline.fit"),
      field(length("ease", "ease", "Whole neckline over the neck base girth"), "neckline.ease"),
      field({ key: "shape", name: "shape", unit: "choice", choices: form.shapes, default: "round", meaning: "Shape of the neckline" }, "neckline.style.shape"),
      field(length("front_lower", "front lower", "Lower at centre front"), "neckline.style.front_lower"),
      field(length("side_widen", "side wider", "Wider at the shoulder"), "neckline.style.side_widen"),
      field(length("back_lower", "back lower", "Lower at centre back"), "neckline.style.back_lower"),
    );
    buildCollars();
  };
  const kindOf = () => (content.collar || {}).kind || "none";
  const buildCollars = () => {
    const kinds = [{ key: "none", title: "No collar", picture: form.pictures.none, fields: [] }, ...form.collars.map((one) => ({ ...one, picture: form.pictures[one.key] || "" }))];
    $("collar-kinds").replaceChildren(...kinds.map((one) => {
      const input = make("input", { type: "radio", name: "kind", value: one.key, checked: one.key === kindOf() });
      input.addEventListener("change", () => {
        remember();
        content.collar = { kind: one.key };
        buildCollarFields();
        refresh();
      });
      const picture = make("span", { className: "silhouette", ariaHidden: "true" });
      picture.innerHTML = form.silhouette.replace("COLLAR", one.picture);
      return make("label", { className: "kind" }, input, picture, make("span", { text: one.title }));
    }));
    buildCollarFields();
  };
  const buildCollarFields = () => {
    const chosen = form.collars.find((one) => one.key === kindOf());
    $("collar-fields").replaceChildren(...(chosen ? chosen.fields : []).map((rule) => field(rule, `collar.${rule.key}`, { slider: rule.unit !== "choice" })));
  };

  // ---- asking the desk ----------------------------------------------------------------------------
  const post = async (path, body) => {
    const answer = await fetch(path, {
      method: "POST",
      headers: { "Content-Type": "application/json", Accept: "application/json" },
      body: JSON.stringify(body),
    });
    const data = await answer.json();
    if (!answer.ok) throw new Error((data.said || ["the desk did not answer"]).join("; "));
    return data;
  };
  const refresh = async () => {
    if (waiting) { again = true; return; }
    waiting = true;
    try {
      const sent = performance.now();
      told = await post("/look", content);
      show();
      root.dataset.redrawn = String(Number(root.dataset.redrawn || 0) + 1);
      root.dataset.took = String(performance.now() - sent);
      say(JSON.stringify(content) === saved ? "" : "not saved yet");
    } catch (error) {
      say(`The desk does not answer: ${error.message}`, "bad");
    } finally {
      waiting = false;
      if (again) { again = false; refresh(); }
    }
  };

  // ---- showing ------------------------------------------------------------------------------------
  const show = () => {
    for (const element of document.querySelectorAll(".hint")) element.textContent = "";
    for (const element of document.querySelectorAll("[aria-invalid]")) element.removeAttribute("aria-invalid");
    for (const element of document.querySelectorAll(".slip")) element.classList.remove("slip");
    showProblems(told.problems || []);
    for (const one of told.unusual || []) hintAt(`measurements.${one.key}`, one.said, "slip");
    for (const one of form.measurements) {
      const input = $(`f-measurements-${one.key}`);
      const estimate = (told.estimated || {})[one.key];
      if (told.estimated) input.placeholder = estimate ? `≈ ${estimate}` : "";
      input.classList.toggle("estimated", Boolean(estimate));
    }
    const drafted = Boolean(told.svg);
    $("drawing").classList.toggle("stale", !drafted);
    if (drafted) draw();
    if (told.neck) showNeck();
    if (told.checks) showChecks();
    $("numbers").replaceChildren(...(told.numbers || []).flatMap(([name, value]) => [make("dt", { text: name }), make("dd", { text: value })]));
    $("stamp").hidden = !told.stamp;
    $("stamp").textContent = told.stamp || "";
    $("papers-warning").hidden = !told.stamp;
    $("papers-warning").textContent = told.stamp ? "A check failed: every paper is marked." : "";
  };
  const hintAt = (path, said, kind) => {
    const input = $(`f-${path.replace(/\./g, "-")}`);
    if (!input) return false;
    const place = $(`${input.id}-hint`);
    if (place) place.textContent = said;
    input.closest(".field, .measure").classList.add("slip");
    if (kind === "wrong") input.setAttribute("aria-invalid", "true");
    return true;
  };
  const showProblems = (problems) => {
    const missing = problems.filter((one) => one.said.startsWith("this is missing") || one.said.startsWith("both arcs"));
    const others = problems.filter((one) => !missing.includes(one));
    const lines = others.map((one) => {
      hintAt(one.key, [one.said, one.accepted && `accepted: ${one.accepted}`].filter(Boolean).join("; "), "wrong");
      return `${one.key ? one.key.split(".").pop().replace(/_/g, " ") + ": " : ""}${one.said}${one.accepted ? `; accepted: ${one.accepted}` : ""}${one.advice ? `. ${one.advice}` : ""}`;
    });
    if (missing.length) {
      lines.push(`Still to take: ${missing.map((one) => one.key.split(".").pop().replace(/_/g, " ")).join(", ")}.`);
      for (const one of missing) hintAt(one.key, "needed for the draft", "needed");
    }
    $("problems").hidden = !lines.length;
    $("problems").replaceChildren(...lines.map((text) => make("li", { text })));
  };
  const showNeck = () => {
    const neck = told.neck;
    const pins = [
      ["her neck", neck.neck_girth, neck.neck_girth_said],
      ["closed collar", neck.closed, neck.closed_said],
      ["neck base and ease", neck.target, neck.target_said],
      ["as the method draws it", neck.drafted, neck.drafted_said],
      ["the neckline", neck.whole, neck.whole_said],
    ].filter((pin) => pin[1]);
    const low = Math.min(...pins.map((pin) => pin[1])) - 1;
    const high = Math.max(...pins.map((pin) => pin[1])) + 1;
    const x = (value) => 10 + ((value - low) / (high - low)) * 280;
    const parts = [`<svg viewBox="0 0 300 ${34 + 15 * pins.length}" role="img" aria-label="The neckline, the neck and the collar along one tape">`, '<path class="tape-line" d="M6 16 H294"/>'];
    for (let mark = Math.ceil(low * 2) / 2; mark <= high; mark += 0.5) parts.push(`<path class="tick" d="M${x(mark)} 16 v-${Number.isInteger(mark) ? 6 : 3}"/>`);
    pins.forEach((pin, k) => {
      const place = x(pin[1]);
      const left = place > 150;
      parts.push(`<path class="pin pin-${k}" d="M${place} 16 V${30 + 15 * k}"/><text x="${place + (left ? -4 : 4)}" y="${33 + 15 * k}" text-anchor="${left ? "end" : "start"}">${pin[0]} ${pin[2]}</text>`);
    });
    $("neck-picture").innerHTML = `${parts.join("")}</svg>`;
    $("neck-said").replaceChildren(...(told.neckline || []).slice(0, 2).map((text) => make("p", { text })));
    $("corrections").replaceChildren(...(neck.corrections || []).map((one) => {
      const button = make("button", { type: "button", disabled: !one.possible, text: `${one.applied ? "✓ " : ""}${one.key}: ${one.said}` });
      button.dataset.correction = one.key;
      button.setAttribute("aria-pressed", String(one.applied));
      button.addEventListener("click", () => {
        change("neckline.fit", one.applied ? "none" : one.key);
        $("f-neckline-fit").value = at("neckline.fit");
      });
      return button;
    }));
  };
  const checkItem = (one) => {
    const sign = { fail: "✗ failed", note: "! look", pass: "✓" }[one.verdict];
    const where = one.where ? ` (${one.where})` : "";
    const item = make("li", { className: one.verdict }, make("strong", { text: `${sign} ` }), `${one.name}${where}: ${one.measured}, wanted ${one.wanted}. ${one.advice}`);
    if (one.piece && one.verdict !== "pass") {
      const button = make("button", { type: "button", text: "Show it" });
      button.addEventListener("click", () => point(one));
      item.append(" ", button);
    }
    return item;
  };
  const showChecks = () => {
    const open = told.checks.filter((one) => one.verdict !== "pass");
    const passed = told.checks.filter((one) => one.verdict === "pass");
    $("check-list").replaceChildren(...open.map(checkItem));
    $("passed").querySelector("summary").textContent = `${passed.length} of ${told.checks.length} checks passed`;
    $("passed").querySelector("ul").replaceChildren(...passed.map(checkItem));
    $("notes").replaceChildren(...(told.notes || []).map((text) => make("li", { text })));
  };
  const point = (one) => {
    const edges = [...document.querySelectorAll("#drawing .edge")].filter((edge) => edge.dataset.at.startsWith(`${one.piece}:`));
    const named = edges.filter((edge) => one.where.includes(edge.dataset.name));
    for (const edge of document.querySelectorAll("#drawing .pointed")) edge.classList.remove("pointed");
    for (const edge of named.length ? named : edges) edge.classList.add("pointed");
    $("drawing").scrollIntoView({ block: "nearest" });
  };

  // ---- the drawing: near, far, along ----------------------------------------------------------------
  let view = null;
  const draw = () => {
    const old = $("drawing").querySelector("svg");
    $("drawing").innerHTML = told.svg;
    const svg = $("drawing").querySelector("svg");
    const whole = svg.viewBox.baseVal;
    if (old && view) svg.setAttribute("viewBox", view.join(" "));
    else view = null;
    svg.dataset.whole = [whole.x, whole.y, whole.width, whole.height].join(" ");
  };
  const seen = () => {
    const svg = $("drawing").querySelector("svg");
    return svg && { svg, box: (svg.getAttribute("viewBox") || "").split(" ").map(Number) };
  };
  const look = (box) => {
    const { svg } = seen();
    view = box;
    svg.setAttribute("viewBox", box.join(" "));
  };
  const zoom = (factor, fx = 0.5, fy = 0.5) => {
    const now = seen();
    if (!now) return;
    const [x, y, w, h] = now.box;
    look([x + w * fx * (1 - factor), y + h * fy * (1 - factor), w * factor, h * factor]);
  };
  const shift = (dx, dy) => {
    const now = seen();
    if (!now) return;
    const [x, y, w, h] = now.box;
    look([x + dx * w, y + dy * h, w, h]);
  };
  $("nearer").addEventListener("click", () => zoom(0.8));
  $("farther").addEventListener("click", () => zoom(1.25));
  $("whole").addEventListener("click", () => {
    const now = seen();
    view = null;
    if (now) now.svg.setAttribute("viewBox", now.svg.dataset.whole);
  });
  $("drawing").addEventListener("wheel", (event) => {
    if (!event.ctrlKey && !event.metaKey) return;
    event.preventDefault();
    const box = $("drawing").getBoundingClientRect();
    zoom(event.deltaY > 0 ? 1.1 : 0.9, (event.clientX - box.left) / box.width, (event.clientY - box.top) / box.height);
  }, { passive: false });
  let held = null;
  $("drawing").addEventListener("pointerdown", (event) => { held = [event.clientX, event.clientY]; });
  window.addEventListener("pointerup", () => { held = null; });
  $("drawing").addEventListener("pointermove", (event) => {
    if (!held) return;
    const box = $("drawing").getBoundingClientRect();
    shift((held[0] - event.clientX) / box.width, (held[1] - event.clientY) / box.height);
    held = [event.clientX, event.clientY];
  });
  let chosen = -1;
  $("drawing").addEventListener("keydown", (event) => {
    const moves = { ArrowLeft: [-0.08, 0], ArrowRight: [0.08, 0], ArrowUp: [0, -0.08], ArrowDown: [0, 0.08] };
    if (moves[event.key]) { event.preventDefault(); shift(...moves[event.key]); }
    else if (event.key === "+") zoom(0.8);
    else if (event.key === "-") zoom(1.25);
    else if (event.key === "." || event.key === ",") {
      const edges = [...document.querySelectorAll("#drawing .edge")];
      if (!edges.length) return;
      chosen = (chosen + (event.key === "." ? 1 : -1) + edges.length) % edges.length;
      tell(edges[chosen]);
    }
  });
  const tell = (edge) => {
    for (const one of document.querySelectorAll("#drawing .here, #drawing .partner")) one.classList.remove("here", "partner");
    edge.classList.add("here");
    const partners = edge.dataset.partner.split(" ").filter(Boolean);
    const others = [...document.querySelectorAll("#drawing .edge")].filter((one) => partners.includes(one.dataset.at));
    for (const one of others) one.classList.add("partner");
    const names = [...new Set(others.map((one) => `${one.dataset.piece}, ${one.dataset.name}`))];
    const sewn = names.length ? ` Sewn to ${names.join(" and ")}.` : edge.dataset.fold ? " On the fold." : "";
    $("edge").textContent = `${edge.dataset.piece}, ${edge.dataset.name}: ${edge.dataset.length}.${sewn}`;
  };
  $("drawing").addEventListener("pointerover", (event) => {
    const edge = event.target.closest(".edge");
    if (edge) tell(edge);
  });
  for (const box of document.querySelectorAll("[data-show]")) {
    const set = () => $("drawing").classList.toggle(`show-${box.dataset.show}`, box.checked);
    box.addEventListener("change", set);
    set();
  }

  // ---- saving -----------------------------------------------------------------------------------
  const save = async () => {
    const sent = JSON.stringify(content);
    if (sent === saved) { say("saved", "good"); return true; }
    try {
      const answer = await post(`/orders/${order}/save`, { content, version });
      version = answer.version;
      saved = sent;
      say("saved", "good");
      return true;
    } catch (error) {
      say(`Not saved: ${error.message}`, "bad");
      return false;
    }
  };
  $("save").addEventListener("click", save);
  $("undo").addEventListener("click", () => {
    if (!past.length) { say("nothing to undo"); return; }
    const before = JSON.parse(past.pop());
    for (const key of Object.keys(content)) delete content[key];
    Object.assign(content, before);
    build();
    refresh();
  });
  for (const link of document.querySelectorAll("[data-paper]")) {
    link.href = `/orders/${order}/${link.dataset.paper}`;
    link.addEventListener("click", async (event) => {
      event.preventDefault();
      if (await save()) window.location.assign(link.href);
    });
  }
  for (const element of document.querySelectorAll("[data-field]")) {
    element.addEventListener("input", async () => {
      change(element.dataset.field, element.value);
      if (element.dataset.field !== "unit") return;
      form = await (await fetch(`/form/${content.unit}`)).json();
      build();
    });
  }
  document.addEventListener("keydown", (event) => {
    if (!(event.ctrlKey || event.metaKey)) return;
    if (event.key === "s") { event.preventDefault(); save(); }
  });
  window.addEventListener("beforeunload", (event) => {
    if (JSON.stringify(content) !== saved) event.preventDefault();
  });

  build();
  refresh();
})();
