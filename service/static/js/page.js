/* Small comforts of every page. Each works on what is there; without script the page is whole. */
import { errorSummary } from "./errors.js";
import { focusAsked } from "./focus.js";
import { fold } from "./fold.js";
import { onceOnly } from "./once.js";
import { printButton } from "./print.js";
import { searchKey } from "./search.js";
import { stepAtHand } from "./steps.js";
import { themeSwitch } from "./themes.js";
import { typeAhead } from "./typeahead.js";

errorSummary(document);
fold(document);
onceOnly(document);
printButton(document);
searchKey(document);
stepAtHand(document);
themeSwitch(document);
typeAhead(document);
document.body.addEventListener("htmx:afterSwap", (event) => {
  errorSummary(event.target);
  focusAsked(event.target);
  onceOnly(event.target);
});
