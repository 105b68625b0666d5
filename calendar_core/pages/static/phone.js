// Installing the pages, and subscribing this phone to warnings.
"use strict";
(() => {
  const form = document.getElementById("subscribe");
  const why = document.getElementById("why-not");
  const install = document.getElementById("install-now");

  window.addEventListener("beforeinstallprompt", (event) => {
    event.preventDefault();
    install.hidden = false;
    install.addEventListener("click", () => event.prompt(), { once: true });
  });

  if (!form) return;
  if (!window.isSecureContext || !("serviceWorker" in navigator)) return;
  if (!("PushManager" in window)) {
    why.textContent = "This browser takes no messages here. On an iPhone or iPad it does once the page is on the home screen and opened from there.";
    return;
  }
  form.hidden = false;
  why.textContent = "";
  form.elements.name.value = named();
  form.addEventListener("submit", (event) => {
    event.preventDefault();
    subscribe().catch((fault) => say(`Not subscribed: ${fault.message || fault.name}`));
  });

  offerRemoval();

  // Who does not own the garden removes this phone alone: it proves itself by its endpoint.
  async function offerRemoval() {
    const own = document.getElementById("unsubscribe");
    const worker = own && (await navigator.serviceWorker.ready);
    const before = worker && (await worker.pushManager.getSubscription());
    if (!before) return;
    own.elements.endpoint.value = before.endpoint;
    own.hidden = false;
  }

  // The kind of machine is enough to begin with; it is better called by its person.
  function named() {
    const kind = /iPhone|iPad|Android|Windows|Macintosh|Linux/.exec(navigator.userAgent);
    return { iPhone: "iPhone", iPad: "iPad", Android: "Android phone" }[kind && kind[0]] || "This computer";
  }

  async function subscribe() {
    if ((await Notification.requestPermission()) !== "granted") {
      return say("The browser was told to show no messages of this page; its settings for this site change that.");
    }
    const worker = await navigator.serviceWorker.ready;
    const answer = await fetch("/phone/key");
    if (!answer.ok) throw new Error("this key may not add a phone");
    const { key } = await answer.json();
    const subscription = await subscribed(worker, octets(key));
    const taken = await fetch("/phone/push", {
      method: "POST",
      headers: { "Content-Type": "application/json", "X-Leafclock-Token": document.body.dataset.token },
      body: JSON.stringify({ subscription, name: form.elements.name.value }),
    });
    const { lines } = await taken.json();
    if (!taken.ok) return say(lines.join(" "));
    return location.reload();
  }

  // A subscription is bound to the key it was made with: one of another garden's database is given up first.
  async function subscribed(worker, key) {
    const options = { userVisibleOnly: true, applicationServerKey: key };
    const before = await worker.pushManager.getSubscription();
    if (before && !same(before.options.applicationServerKey, key)) await before.unsubscribe();
    return worker.pushManager.subscribe(options);
  }

  function same(one, other) {
    return one && String(new Uint8Array(one)) === String(other);
  }

  function octets(text) {
    const plain = atob(text.replaceAll("-", "+").replaceAll("_", "/"));
    return Uint8Array.from(plain, (sign) => sign.charCodeAt(0));
  }

  function say(text) {
    why.textContent = text;
    why.setAttribute("role", "alert");
  }
})();
