// Words and files for who uses the page.

export const $ = (id) => document.getElementById(id);

/** Says something to who listens. */
export function say(text) {
  $("live").textContent = text;
}

/** Shows what could not be done, until it is closed or done. */
export function trouble(message) {
  $("trouble-words").textContent = message;
  $("trouble").hidden = false;
}

/** Says what could not be done where it is seen as well. */
export function tell(text) {
  say(text);
  trouble(text);
}

/** Words on a button for a moment. */
export function flash(button, words) {
  const before = button.dataset.words ?? button.textContent;
  button.dataset.words = before;
  button.textContent = words;
  say(words);
  setTimeout(() => {
    button.textContent = before;
  }, 2000);
}

/** Hands a file to the user. */
export function give(name, blob) {
  const link = document.createElement("a");
  link.href = URL.createObjectURL(blob);
  link.download = name;
  document.body.append(link);
  link.click();
  link.remove();
  setTimeout(() => URL.revokeObjectURL(link.href), 10000);
}
