// A form that is saved as one goes: whole values, in the order they were made, one save at a time.
// The default value of a box is what is to be saved of it; while somebody types in it, its value differs from that.

const form = document.querySelector("form[data-saving]");
if (form) keepSaved(form);

function keepSaved(form) {
  const TYPED = "input:not([type]), input[type=text], input[type=range], textarea";
  const LONGEST_KEPT = 60_000; // a browser sends no more than 64 KB after its page is gone
  let made = 0; // changes made
  let sent = 0; // of these, how many the page has answered
  let isGood = true; // whether the last answer was that all is stored
  let isHeld = false; // somebody changed the same box: a person saves on
  let pressed = null; // the button that asked for the save
  let running = null;

  const boxes = () => [...form.querySelectorAll(TYPED)].filter((box) => box.name);
  const typing = () => boxes().some((box) => box.value !== box.defaultValue);
  const isStored = () => sent === made && isGood && !running && !typing();

  const said = () => document.querySelector("#said .saved");
  let answered = [...said().childNodes];
  function tell(words) {
    words ??= running || (sent < made && !isHeld) ? form.dataset.saving : typing() ? form.dataset.typing : null;
    if (words === null && said().dataset.told) said().replaceChildren(...answered);
    if (words !== null && !said().dataset.told) answered = [...said().childNodes];
    if (words !== null) said().textContent = words;
    if (words === null) delete said().dataset.told; else said().dataset.told = "yes";
  }

  function settle(box) {
    if (!box.matches?.(TYPED) || box.value === box.defaultValue) return;
    box.defaultValue = box.value;
    made += 1;
  }

  form.addEventListener("input", () => tell());
  form.addEventListener("change", (event) => {
    if (event.target.matches(TYPED)) settle(event.target); else made += 1;
    save();
  });
  form.addEventListener("focusout", (event) => {
    if (document.activeElement === event.target) return; // the window lost the focus, not the box
    settle(event.target);
    save();
  });
  form.addEventListener("submit", async (event) => {
    event.preventDefault();
    boxes().forEach(settle);
    const isAsked = event.submitter?.name && event.submitter.name !== "then";
    if (isAsked || isHeld || (sent === made && !running)) made += 1;
    [pressed, isHeld] = [event.submitter, false];
    await save();
    if (!isStored()) look(); else if (event.submitter?.name === "then") location.assign(event.submitter.value);
  });

  // A link waits for what was typed; where that is refused, it leads to the box first.
  let refused = -1;
  document.addEventListener("click", async (event) => {
    const link = event.target.closest?.("a[href]");
    const isElsewhere = !link || link.target || link.getAttribute("href").startsWith("#");
    if (isElsewhere || event.defaultPrevented || event.ctrlKey || event.metaKey || event.shiftKey) return;
    if (isStored() || refused === made) return;
    event.preventDefault();
    boxes().forEach(settle);
    await save();
    if (isStored()) location.assign(link.href); else { refused = made; look(); }
  });
  addEventListener("beforeunload", (event) => { if (!isStored()) event.preventDefault(); });

  function look() {
    const box = document.querySelector("main [aria-invalid=true]") ?? said();
    box.focus();
    box.scrollIntoView({ block: "center" });
  }

  function save() {
    running ??= saveAll().finally(() => { running = null; if (form.isConnected) tell(); });
    return running;
  }

  async function saveAll() {
    while (sent < made && !isHeld && form.isConnected) {
      const [upTo, body] = [made, bodyNow()];
      tell(form.dataset.saving);
      const [status, page] = await send(body);
      sent = upTo;
      isGood = status === 200;
      isHeld = status === 409;
      take(page, body);
    }
  }

  function bodyNow() {
    const data = new FormData(form);
    for (const box of boxes()) data.set(box.name, box.defaultValue);
    if (pressed?.name && pressed.name !== "then") data.append(pressed.name, pressed.value);
    pressed = null;
    return new URLSearchParams(data);
  }

  // The same is sent until it is answered: whether an answer that was lost had stored it makes no difference.
  async function send(body) {
    const keepalive = body.toString().length < LONGEST_KEPT;
    for (let wait_s = 1; ; wait_s = Math.min(2 * wait_s, 15)) {
      try {
        const signal = AbortSignal.timeout(120_000);
        const response = await fetch(form.action, { method: "POST", body, keepalive, signal });
        const page = new DOMParser().parseFromString(await response.text(), "text/html");
        if (response.redirected) tell(form.dataset.signedOut);
        else if (response.status < 500) return [response.status, page];
        else tell(form.dataset.waiting);
      } catch {
        tell(form.dataset.waiting);
      }
      await new Promise((go) => setTimeout(go, wait_s * 1000));
    }
  }

  // Show what is stored now, and leave alone what was changed since it was sent.
  function take(page, body) {
    const theirs = page.querySelector("#sheet");
    if (!theirs) {
      document.querySelector("#main").replaceWith(page.querySelector("#main"));
      return;
    }
    addRows(theirs);
    for (const box of theirs.elements) {
      const own = box.id && document.getElementById(box.id);
      if (!own || !own.name) continue;
      if (box.hasAttribute("aria-invalid")) own.setAttribute("aria-invalid", "true");
      else own.removeAttribute("aria-invalid");
      fill(own, box, body);
    }
    for (const part of page.querySelectorAll("#said, #memory, #drawings, #sentence, .remark")) {
      document.getElementById(part.id)?.replaceChildren(...part.childNodes);
    }
    answered = [...said().childNodes];
  }

  function fill(own, box, body) {
    if (own.type === "radio" || own.type === "checkbox") {
      if (own.checked === body.getAll(own.name).includes(own.value)) own.checked = box.checked;
    } else if (!own.matches(TYPED)) {
      if (own.value === body.get(own.name)) own.value = box.value;
    } else if (own.defaultValue === body.get(own.name)) {
      const now = own.value === own.defaultValue ? box.value : own.value;
      own.defaultValue = box.value;
      if (own.value !== now) own.value = now;
      const told = own.type === "range" && document.querySelector(`output[for="${own.id}"]`);
      if (told) told.textContent = own.value;
    }
  }

  // A list that grew has another row left free.
  function addRows(theirs) {
    let last = null;
    for (const group of theirs.querySelectorAll("fieldset[id]")) {
      const own = document.getElementById(group.id);
      if (!own && last) last.after(group);
      last = own ?? group;
    }
  }
}
