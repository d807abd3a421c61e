/* After a part of the page was swapped, the focus goes where the server asked it to: nothing typed at is ever lost. */
export function focusAsked(root) {
  const asked = root.matches?.("[data-focus]") ? root : root.querySelector?.("[data-focus]");
  if (asked) asked.focus({ preventScroll: true });
}
