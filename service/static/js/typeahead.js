/* Arrow keys walk from a search box into what was found and back; Escape closes the list. A box swapped in later
   works as well: the listeners stand on the page. */
const listOf = (box) => box && document.getElementById(box.dataset.typeahead);

function walk(event) {
  const box = event.target.closest?.("form")?.querySelector("[data-typeahead]");
  const list = listOf(box);
  if (!list) return;
  if (event.key === "Escape") {
    list.replaceChildren();
    box.focus();
    return;
  }
  if (event.key !== "ArrowDown" && event.key !== "ArrowUp") return;
  const all = [...list.querySelectorAll("li a, li button")];
  if (!all.length) return;
  event.preventDefault();
  const next = all.indexOf(document.activeElement) + (event.key === "ArrowDown" ? 1 : -1);
  if (next < 0) box.focus();
  else if (next < all.length) all[next].focus();
}

export function typeAhead(root) {
  root.addEventListener("keydown", walk);
  root.addEventListener("click", (event) => {
    for (const box of root.querySelectorAll("[data-typeahead]")) {
      const list = listOf(box);
      if (list?.classList.contains("found") && !box.form.contains(event.target)) list.replaceChildren();
    }
  });
}
