// What a phone does by itself: keeps the pages that were read, shows warnings, sends what waits.
"use strict";
const FILES = /*files*/[];
const KEPT_FILES = "files-/*version*/";
const KEPT_PAGES = "pages";
const MOST_PAGES = 60; // estimate: a round of a bench
// Pages that hold nothing secret; keys and calendar addresses are shown by others, once.
const READABLE = /^\/($|(hours|season|bench|write|round|plan|phone)$|tree\/)/;
const DAY = { weekday: "long", day: "numeric", month: "long", hour: "numeric", minute: "2-digit" };

importScripts("/static/waiting.js");

self.addEventListener("install", (event) => {
  const fresh = FILES.map((path) => new Request(path, { cache: "reload" }));
  event.waitUntil(caches.open(KEPT_FILES).then((kept) => kept.addAll(fresh)).then(() => self.skipWaiting()));
});

self.addEventListener("activate", (event) => {
  event.waitUntil(forgetOlder().then(() => self.clients.claim()));
});

async function forgetOlder() {
  const names = await caches.keys();
  await Promise.all(names.filter((name) => name.startsWith("files-") && name !== KEPT_FILES).map((name) => caches.delete(name)));
}

self.addEventListener("fetch", (event) => {
  const { request } = event;
  const url = new URL(request.url);
  if (url.origin !== self.location.origin) return;
  if (url.pathname === "/leave" || (url.pathname === "/enter" && request.mode === "navigate")) {
    event.waitUntil(caches.delete(KEPT_PAGES)); // whoever comes next reads nothing of it
  }
  if (request.method !== "GET") return;
  if (FILES.includes(url.pathname)) {
    event.respondWith(file(request));
  } else if (request.mode === "navigate" && READABLE.test(url.pathname)) {
    event.respondWith(read(event));
  }
});

async function file(request) {
  const kept = await caches.open(KEPT_FILES);
  return (await kept.match(request, { ignoreSearch: true })) || fetch(request);
}

async function read(event) {
  let answer;
  try {
    answer = await fetch(event.request);
  } catch {
    return unreached(event.request);
  }
  const isPage = answer.ok && !answer.redirected && (answer.headers.get("Content-Type") || "").startsWith("text/html");
  if (isPage) event.waitUntil(keep(event.request.url, answer.clone()));
  return answer;
}

async function keep(url, answer) {
  const text = await answer.text();
  if (!text.includes('<main id="main"')) return; // one that asks to wait, or says what cannot be done
  const headers = new Headers(answer.headers);
  headers.set("X-Read-At", new Date().toISOString());
  const pages = await caches.open(KEPT_PAGES);
  await pages.delete(url); // the newest stands last
  await pages.put(url, new Response(text, { headers }));
  const known = await pages.keys();
  await Promise.all(known.slice(0, Math.max(0, known.length - MOST_PAGES)).map((page) => pages.delete(page)));
}

async function unreached(request) {
  const pages = await caches.open(KEPT_PAGES);
  const found = await pages.match(request.url);
  if (!found) return neverRead((await pages.keys()).map((page) => new URL(page.url).pathname));
  const at = new Date(found.headers.get("X-Read-At")).toLocaleString("en-GB", DAY);
  const told = `<p class="told" role="status" data-kept>No network: this is the page as it was read on ${at}.</p>`;
  const text = (await found.text()).replace(/<main[^>]*>/, (main) => main + told);
  return new Response(text, { headers: found.headers });
}

function neverRead(paths) {
  const links = [...new Set(paths)].map((path) => `<li><a href="${escaped(path)}">${escaped(path)}</a></li>`).join("");
  const text = `<!doctype html><html lang="en"><head><meta charset="utf-8"><title>No network</title>
<meta name="viewport" content="width=device-width, initial-scale=1"><link rel="stylesheet" href="/static/page.css"></head>
<body><header><h1>No network</h1></header><main><p>This page was not read on this phone before. These were:</p><ul>${links}</ul></main></body></html>`;
  const policy = "default-src 'none'; style-src 'self'; font-src 'self'; base-uri 'none'";
  return new Response(text, { status: 503, headers: { "Content-Type": "text/html; charset=utf-8", "Content-Security-Policy": policy } });
}

function escaped(text) {
  return text.replace(/[&<>"']/g, (sign) => `&#${sign.charCodeAt(0)};`);
}

// Warnings: a later message of one takes the place of the one that is shown.
self.addEventListener("push", (event) => {
  event.waitUntil(show(event.data ? event.data.json() : {}));
});

async function show(told) {
  const tag = told.tag || "leafclock";
  const shown = await self.registration.getNotifications({ tag });
  const newer = shown.find((each) => each.data && each.data.revision > told.revision);
  const first = newer || { title: told.title || "Leafclock", body: told.body || "", data: { url: told.url, revision: told.revision } };
  await self.registration.showNotification(first.title, {
    body: first.body, data: first.data, tag, lang: "en", icon: "/static/mark-192.png", badge: "/static/mark-192.png",
    renotify: !newer && !told.withdrawn, // what is over makes no sound
  });
}

self.addEventListener("notificationclick", (event) => {
  event.notification.close();
  const asked = String((event.notification.data || {}).url || "/");
  event.waitUntil(open(/^\/(?![/\\])/.test(asked) ? asked : "/"));
});

async function open(path) {
  const [page] = await self.clients.matchAll({ type: "window" });
  if (!page) return self.clients.openWindow(path);
  await page.navigate(path);
  return page.focus();
}

self.addEventListener("pushsubscriptionchange", (event) => {
  event.waitUntil(subscribeAnew(event));
});

async function subscribeAnew(event) {
  const before = event.oldSubscription;
  const fresh = event.newSubscription || (before && (await self.registration.pushManager.subscribe(before.options)));
  if (!fresh) return;
  await fetch("/phone/push", {
    method: "POST",
    headers: { "Content-Type": "application/json", "X-Leafclock-Token": await Waiting.token() },
    body: JSON.stringify({ subscription: fresh, before: before ? before.endpoint : "" }),
  });
}

self.addEventListener("sync", (event) => {
  if (event.tag === Waiting.TAG) event.waitUntil(Waiting.send());
});
