/* What stands beside the page's main matter on a wide screen is folded away on a narrow one, and opened by hand. */
export function fold(root) {
  for (const part of root.querySelectorAll("details[data-fold]")) {
    if (window.matchMedia(part.dataset.fold).matches && !part.querySelector("[aria-invalid=true]")) part.open = false;
  }
}
