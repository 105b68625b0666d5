// Keeping what cannot be sent, and showing what waits. Browsers allow it over HTTPS and on the machine itself only.
"use strict";
(() => {
  const able = window.isSecureContext && "serviceWorker" in navigator && "indexedDB" in window && "locks" in navigator;
  const WORDS = { one: "1 entry waits on this phone.", more: (n) => `${n} entries wait on this phone.` };

  const PLAIN = "Without a network nothing is kept here: browsers allow that over HTTPS only.";
  let trouble = "";

  if (able) {
    navigator.serviceWorker.register("/worker.js");
    if (Waiting.channel) Waiting.channel.addEventListener("message", show);
    window.addEventListener("online", sendNow);
    document.addEventListener("DOMContentLoaded", () => {
      if (document.querySelector("[data-kept]")) setToday();
      show().then(sendNow);
    });
  } else {
    document.addEventListener("DOMContentLoaded", () => {
      for (const form of document.querySelectorAll("form[data-waits]")) form.after(element("p", PLAIN, "quiet"));
    });
  }

  // A form that may wait gets an id of ours before it is sent, so that a repeat is no second entry.
  document.addEventListener("htmx:configRequest", (event) => {
    const form = event.detail.elt.closest("form[data-waits]");
    if (!form || !window.crypto.randomUUID) return;
    const field = form.dataset.waits || "entry_id";
    form.dataset.sending ||= crypto.randomUUID(); // not the page's own: a kept page has the same for every entry
    event.detail.parameters[field] = form.dataset.sending;
  });

  document.addEventListener("htmx:afterRequest", (event) => {
    const form = event.detail.elt.closest("form[data-waits]");
    if (form && event.detail.successful) delete form.dataset.sending; // the next is another entry
  });

  document.addEventListener("htmx:sendError", async (event) => {
    const { elt, requestConfig, target } = event.detail;
    const form = elt.closest("form[data-waits]");
    if (requestConfig.verb === "get") return;
    if (!form) return tell(elt, "Not sent: there is no network.");
    if (!able) return tell(form, "Not sent: there is no network. What you entered still stands here; browsers keep entries over HTTPS only.");
    await keep(form, requestConfig.path, requestConfig.formData);
    const place = form.closest(".answering") || target;
    if (place) place.hidden = true;
  });

  // A form that the browser sends itself is sent once the service was reached, else kept.
  document.addEventListener("submit", async (event) => {
    const form = event.target.closest("form[data-waits]:not([hx-post])");
    if (!able || !form || form.dataset.reached) return;
    event.preventDefault();
    form.dataset.sending ||= crypto.randomUUID();
    form.elements.namedItem(form.dataset.waits).value = form.dataset.sending;
    const reached = await Waiting.token().then(() => true, (fault) => fault.message !== "there is no network");
    if (!reached) {
      await keep(form, form.getAttribute("action"), new FormData(form, event.submitter));
      form.reset();
      window.scrollTo(0, 0);
    } else {
      form.dataset.reached = "yes";
      form.requestSubmit(event.submitter);
    }
  });

  window.addEventListener("pageshow", () => {
    for (const form of document.querySelectorAll("form[data-reached]")) delete form.dataset.reached;
  });

  async function keep(form, action, given) {
    await Waiting.put({
      id: form.dataset.sending,
      action,
      fields: [...given.entries()].filter(([name, value]) => name !== "token" && typeof value === "string"),
      what: named(form, given),
      made: new Date().toISOString(),
      answer: "",
    });
    delete form.dataset.sending; // the next is another entry
    await show();
    await wake();
  }

  async function wake() {
    const worker = await navigator.serviceWorker.ready;
    if ("sync" in worker) await worker.sync.register(Waiting.TAG).catch(() => {}); // else it is sent with the next page
  }

  async function sendNow() {
    trouble = await Waiting.send().then(() => "", (fault) => fault.message);
    await show();
  }

  // A page that was kept shows the day on which it was read.
  function setToday() {
    const now = new Date();
    const today = new Date(now - now.getTimezoneOffset() * 60000).toISOString().slice(0, 10);
    for (const field of document.querySelectorAll("form[data-waits] input[type=date]")) {
      if (field.max) field.max = today; // else the browser would refuse today
      if (field.value && field.value === field.defaultValue) field.value = today;
    }
  }

  // What an entry is, in words: the head of its row, else what was entered.
  function named(form, fields) {
    const row = form.closest(".row, .answering");
    const head = form.dataset.what || (row && row.querySelector("h3") ? row.querySelector("h3").textContent : document.querySelector("h1").textContent);
    const said = [...fields.entries()]
      .filter(([name, value]) => typeof value === "string" && value && shownIn(form, name))
      .map(([, value]) => value);
    return [head, ...said].filter(Boolean).join("; ").slice(0, 120);
  }

  function shownIn(form, name) {
    const field = form.elements.namedItem(name);
    const one = field instanceof RadioNodeList ? field[0] : field;
    return Boolean(one) && !["hidden", "checkbox"].includes(one.type);
  }

  async function show() {
    const waiting = await Waiting.all();
    let box = document.getElementById("waiting");
    if (!waiting.length) return box && box.remove();
    if (!box) {
      box = document.createElement("section");
      box.id = "waiting";
      box.className = "told";
      box.setAttribute("aria-label", "Waiting on this phone");
      document.querySelector("main").prepend(box);
    }
    const list = element("ul", "", "plain");
    list.append(...waiting.map(line));
    const count = element("p", waiting.length === 1 ? WORDS.one : WORDS.more(waiting.length));
    const why = waiting.some((entry) => !entry.answer) && trouble ? [element("p", `Not sent yet: ${trouble}.`, "quiet")] : [];
    box.replaceChildren(count, list, ...why, buttons(button("Send now", sendNow)));
    box.setAttribute("role", "status");
  }

  function line(entry) {
    const item = element("li", "", "row");
    const at = new Date(entry.made).toLocaleString("en-GB", { weekday: "short", hour: "numeric", minute: "2-digit" });
    item.append(element("p", `${entry.what} (${at})`));
    if (!entry.answer) return item;
    const answer = new DOMParser().parseFromString(entry.answer, "text/html");
    const alerts = answer.querySelectorAll('[role="alert"]');
    for (const said of alerts.length ? alerts : answer.querySelectorAll("p")) item.append(element("p", said.textContent, "urgent"));
    const asked = answer.querySelector('input[name="yes"]');
    const sure = { ...entry, answer: "", fields: [...entry.fields, ["yes", "yes"]] };
    const again = { ...entry, answer: "" };
    item.append(buttons(
      asked ? button("It is so: write it down", () => Waiting.put(sure).then(sendNow)) : button("Send again", () => Waiting.put(again).then(sendNow)),
      button("Let go", () => Waiting.letGo(entry.id).then(show))));
    return item;
  }

  function tell(near, text) {
    const place = near.closest(".answering") || near;
    const before = place.parentElement.querySelector(":scope > .told.unsent");
    if (before) before.remove();
    const told = element("p", text, "told unsent");
    told.setAttribute("role", "alert");
    place.before(told);
  }

  function element(kind, text, name) {
    const made = document.createElement(kind);
    made.textContent = text;
    if (name) made.className = name;
    return made;
  }

  function button(text, act) {
    const made = element("button", text, "second");
    made.type = "button";
    made.addEventListener("click", act);
    return made;
  }

  function buttons(...all) {
    const made = element("div", "", "buttons");
    made.append(...all);
    return made;
  }
})();
