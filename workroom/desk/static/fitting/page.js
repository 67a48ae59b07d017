// The page's parts by id, and making new ones. Texts are always set as text, never as markup.
export const $ = (id) => document.getElementById(id);

export const make = (tag, attributes = {}, ...children) => {
  const element = document.createElement(tag);
  for (const [key, value] of Object.entries(attributes)) {
    if (value === undefined || value === null) continue;
    if (key === "text") element.textContent = value;
    else if (key.includes("-") || key === "role" || key === "for") element.setAttribute(key, value);
    else element[key] = value;
  }
  element.append(...children.filter((child) => child !== null && child !== undefined));
  return element;
};

// What came of a check.
export const SIGN = { fail: "✗ Failed", note: "! Look", pass: "✓" };

export const say = (text, kind = "") => {
  if ($("state").textContent !== text) $("state").textContent = text;
  $("state").className = `state ${kind}`;
};

export const capital = (text) => text.charAt(0).toUpperCase() + text.slice(1);

export const post = async (path, body) => {
  let answer;
  try {
    answer = await fetch(path, {
      method: "POST",
      headers: { "Content-Type": "application/json", Accept: "application/json" },
      body: JSON.stringify(body),
    });
  } catch {
    throw new Error("the desk does not answer; is it still running?");
  }
  return answered(answer);
};

export const get = async (path) => answered(await fetch(path, { headers: { Accept: "application/json" } }));

const answered = async (answer) => {
  const data = answer.status === 204 ? {} : await answer.json().catch(() => ({}));
  if (answer.ok) return data;
  const error = new Error((data.said || ["the desk refused it"]).join("; "));
  error.status = answer.status;
  throw error;
};
