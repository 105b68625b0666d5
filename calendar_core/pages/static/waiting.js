// Entries that wait on this phone for a network: kept until each was sent once. For the pages and their worker.
"use strict";
const Waiting = (() => {
  const TAG = "waiting";
  const channel = typeof BroadcastChannel === "undefined" ? null : new BroadcastChannel("leafclock-waiting");

  function opened() {
    return new Promise((done, failed) => {
      const asked = indexedDB.open("leafclock", 1);
      asked.onupgradeneeded = () => asked.result.createObjectStore("entries", { keyPath: "id" });
      asked.onsuccess = () => done(asked.result);
      asked.onerror = () => failed(asked.error);
    });
  }

  async function within(mode, act) {
    const database = await opened();
    try {
      return await new Promise((done, failed) => {
        const change = database.transaction("entries", mode, { durability: "strict" });
        const asked = act(change.objectStore("entries"));
        change.oncomplete = () => done(asked.result);
        change.onerror = change.onabort = () => failed(change.error);
      });
    } finally {
      database.close();
    }
  }

  // An entry: its id, the address and fields of its form, what it is in words, when it was made, and what was answered.
  async function all() {
    const found = await within("readonly", (entries) => entries.getAll());
    return found.sort((a, b) => a.made.localeCompare(b.made));
  }

  async function put(entry) {
    await within("readwrite", (entries) => entries.put(entry));
    changed();
  }

  async function letGo(id) {
    await within("readwrite", (entries) => entries.delete(id));
    changed();
  }

  function changed() {
    if (channel) channel.postMessage("changed");
  }

  async function token() {
    const answer = await reached("/phone/token", { cache: "no-store", redirect: "manual" });
    if (!answer.ok) throw new Error("these pages ask for a key first");
    return (await answer.json()).token;
  }

  async function reached(address, how) {
    try {
      return await fetch(address, how);
    } catch {
      throw new Error("there is no network");
    }
  }

  // One at a time over all pages and the worker; what the server has already it writes no second time.
  function send() {
    return navigator.locks.request("leafclock-waiting", async () => {
      const waiting = (await all()).filter((entry) => !entry.answer);
      if (!waiting.length) return;
      const mark = await token();
      for (const entry of waiting) await sendOne(entry, mark);
    });
  }

  async function sendOne(entry, mark) {
    const answer = await reached(entry.action, {
      method: "POST",
      headers: { "X-Leafclock-Token": mark, "HX-Request": "true" },
      body: new URLSearchParams(entry.fields),
      redirect: "manual",
    });
    if (answer.ok) {
      await letGo(entry.id);
    } else if ([400, 404, 409, 413, 422].includes(answer.status)) {
      await put({ ...entry, answer: await answer.text() }); // refused for good: shown with the server's sentence
    } else if ([401, 403].includes(answer.status)) {
      throw new Error("the key of this phone may not write"); // it waits until another was shown
    } else {
      throw new Error(`the service has trouble (${answer.status})`);
    }
  }

  return { TAG, channel, all, put, letGo, token, send };
})();
