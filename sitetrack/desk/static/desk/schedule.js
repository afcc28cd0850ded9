// Says how far the reading of a large schedule is, while the browser waits for the next page.
const field = document.querySelector("[data-progress]");

function watch(form) {
  const bar = document.createElement("progress");
  const words = document.createElement("p");
  words.setAttribute("role", "status");
  words.textContent = field.dataset.busy;
  form.append(words, bar);
  form.querySelectorAll("button").forEach((button) => { button.disabled = true; });
  setInterval(async () => {
    const answer = await fetch(field.dataset.progress, { headers: { Accept: "application/json" } });
    if (!answer.ok) return;
    const { done, total } = await answer.json();
    if (!total) return;
    bar.max = total;
    bar.value = done;
    words.textContent = `${field.dataset.busy} ${Math.floor((100 * done) / total)} %`;
  }, 1000);
}

field?.querySelectorAll("form[data-slow]").forEach((form) => form.addEventListener("submit", () => watch(form)));
