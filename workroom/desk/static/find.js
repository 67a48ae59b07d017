"use strict";
// Shows only those in the book whose name has what was typed.
document.getElementById("find").addEventListener("input", (event) => {
  const sought = event.target.value.trim().toLocaleLowerCase();
  for (const one of document.getElementById("people").children) {
    one.hidden = !one.querySelector("h3").textContent.toLocaleLowerCase().includes(sought);
  }
});
