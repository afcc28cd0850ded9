// Asks the server again while one types, and puts its answer, and what it could not read, where they belong.
const PAUSE_MS = 300;

const form = document.querySelector("[data-reading-table]");
const answer = document.getElementById("answer");
const said = document.querySelector("[data-said]");
let pause;
let asking;

function typed() {
  const given = new URLSearchParams(new FormData(form));
  for (const [name, value] of [...given]) if (!value && name !== "width") given.delete(name);
  return given;
}

/** Beside each field what could not be read of it; a field that is right again says nothing. */
function tellFields() {
  const slips = new Map(
    [...answer.querySelectorAll("[data-slips] li")].map((slip) => [slip.dataset.field, slip.lastElementChild.textContent]),
  );
  for (const field of form.elements) {
    if (!field.id) continue;
    const box = field.closest(".field");
    const sentence = slips.get(field.id);
    let words = box.querySelector(".error");
    box.classList.toggle("field-wrong", Boolean(sentence));
    if (!sentence) {
      words?.remove();
      field.removeAttribute("aria-invalid");
      field.removeAttribute("aria-describedby");
      continue;
    }
    if (!words) {
      words = document.createElement("span");
      words.className = "error";
      words.id = `${field.id}_error`;
      box.append(words);
    }
    words.textContent = sentence;
    field.setAttribute("aria-invalid", "true");
    field.setAttribute("aria-describedby", words.id);
  }
}

async function ask() {
  asking?.abort();
  asking = new AbortController();
  const given = typed();
  const address = new URL(form.action);
  address.search = given;
  const part = new URL(address);
  part.searchParams.set("part", "answer");
  try {
    const response = await fetch(part, { signal: asking.signal });
    if (!response.ok || response.redirected) return; // the button still asks, and the whole page says what is wrong
    const open = answer.querySelector("details")?.open;
    answer.innerHTML = await response.text();
    if (open) answer.querySelector("details")?.setAttribute("open", "");
    history.replaceState(null, "", address);
    tellFields();
    const verdict = answer.querySelector("[data-verdict]")?.textContent ?? answer.querySelector("[data-slips] p").textContent;
    if (said.textContent !== verdict) said.textContent = verdict;
  } catch (error) {
    if (error.name !== "AbortError") said.textContent = "";
  }
}

function askSoon() {
  clearTimeout(pause);
  pause = setTimeout(ask, PAUSE_MS);
}

form.addEventListener("input", askSoon);
form.addEventListener("submit", (event) => {
  event.preventDefault();
  clearTimeout(pause);
  ask();
});
