/* What stands beside the page's main matter on a wide screen is folded away on a narrow one, and opened by hand. */
export function fold(root) {
  for (const part of root.querySelectorAll("details[data-fold]")) {
    const narrow = window.matchMedia(part.dataset.fold);
    if (narrow.matches && !part.querySelector("[aria-invalid=true]")) part.open = false;
    /* on a wide screen there is no handle to open it by: a tablet turned or a window widened shows it again */
    narrow.addEventListener("change", () => { if (!narrow.matches) part.open = true; });
  }
}
