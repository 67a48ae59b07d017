// Papers: made by the desk from what was saved, then listed.
import { $, get, make } from "./page.js";

export const ready = (order, save) => {
  let busy = false;
  $("make").addEventListener("click", async () => {
    if (busy || !(await save())) return;
    busy = true;
    $("make").setAttribute("aria-disabled", "true");
    $("papers-state").className = "";
    $("papers-state").textContent = "Drawing the papers …";
    try {
      const told = await get(`/orders/${order}/papers`);
      $("files").replaceChildren(
        item(`/orders/${order}/papers.zip`, "All papers in one folder", "ZIP", ""),
        ...told.papers.map((one) => item(`/orders/${order}/papers/${encodeURIComponent(one.name)}`, one.said, one.kind, one.size)),
      );
      $("papers-state").textContent = `${told.papers.length} papers are ready.`;
      $("files").classList.remove("old");
    } catch (error) {
      $("papers-state").textContent = `No papers: ${error.message}`;
      $("papers-state").className = "bad";
    } finally {
      busy = false;
      $("make").removeAttribute("aria-disabled");
    }
  });
  $("card-link").href = `/orders/${order}/card.toml`;
  $("card-link").addEventListener("click", async (event) => {
    event.preventDefault();
    if (await save()) window.location.assign($("card-link").href);
  });
};

// After a change the papers on the list are no longer those of what stands on the page.
export const outdated = () => {
  if (!$("files").children.length || $("files").classList.contains("old")) return;
  $("files").classList.add("old");
  $("papers-state").textContent = "Something changed since: these are of the order as it was saved.";
};

const item = (href, said, kind, size) =>
  make("li", {}, make("a", { href, text: said }), make("span", { className: "soft", text: ` ${kind}${size ? `, ${size}` : ""}` }));
