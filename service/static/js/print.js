/* A button that prints the page. Without script it stays hidden: the browser's own menu prints as well. */
export function printButton(root) {
  for (const button of root.querySelectorAll("[data-print]")) {
    button.hidden = false;
    button.addEventListener("click", () => window.print());
  }
}
