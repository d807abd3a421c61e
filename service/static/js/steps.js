/* On a narrow screen the steps of a visit stand in a box of their own: it shows the step at hand, not the first. */
export function stepAtHand(root) {
  const here = root.querySelector(".steps [aria-current]");
  const box = here?.closest(".steps");
  if (box && box.scrollHeight > box.clientHeight) {
    const shown = here.getBoundingClientRect();
    const frame = box.getBoundingClientRect();
    box.scrollTop += shown.top - frame.top - (frame.height - shown.height) / 2;
  }
}
