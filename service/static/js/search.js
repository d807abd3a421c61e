/* "/" puts the cursor in the search box, unless one is already typing. */
export function searchKey(root) {
  const box = root.querySelector("[role=search] input[type=search]");
  if (!box) return;
  document.addEventListener("keydown", (event) => {
    if (event.key !== "/" || event.ctrlKey || event.metaKey || event.altKey) return;
    if (event.target.closest("input, select, textarea, [contenteditable]")) return;
    event.preventDefault();
    box.focus();
    box.select();
  });
}
