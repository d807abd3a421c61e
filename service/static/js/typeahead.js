/* Arrow keys walk from the search box into what was found and back; Escape closes the list. */
export function typeAhead(root) {
  const box = root.querySelector("[data-typeahead]");
  const list = box && document.getElementById(box.dataset.typeahead);
  if (!list) return;
  const links = () => [...list.querySelectorAll("li a")];
  const move = (event, target) => {
    event.preventDefault();
    target.focus();
  };
  box.form.addEventListener("keydown", (event) => {
    if (event.key === "Escape") {
      list.replaceChildren();
      box.focus();
      return;
    }
    if (event.key !== "ArrowDown" && event.key !== "ArrowUp") return;
    const all = links();
    if (!all.length) return;
    const at = all.indexOf(document.activeElement);
    const next = event.key === "ArrowDown" ? at + 1 : at - 1;
    if (next < 0) move(event, box);
    else if (next < all.length) move(event, all[next]);
  });
  document.addEventListener("click", (event) => {
    if (!box.form.contains(event.target)) list.replaceChildren();
  });
}
