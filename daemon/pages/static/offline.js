// Shows the last shift page, and what it is drawn with, while there is no line to the yard.
// Nothing else is kept: a page of yesterday that looks like today's would be believed.
"use strict";

const shelf = "fairwindow-shift";
const patience = 6000; // ms: a line as slow as this is none to somebody with gloves on

self.addEventListener("install", (event) => event.waitUntil(self.skipWaiting()));
self.addEventListener("activate", (event) => event.waitUntil(self.clients.claim()));

// What was loaded before this script ruled the site is fetched once more, to be kept; a page
// that was on its way while the script took over is taken over too.
self.addEventListener("message", (event) => {
  if (event.data && Array.isArray(event.data.keep)) {
    event.waitUntil(self.clients.claim());
    event.waitUntil(Promise.allSettled(event.data.keep.map(async (url) => {
      const answer = await fetch(url);
      await (new URL(url).pathname === "/shift" ? keepPage(url, answer) : keepFile(url, answer));
    })));
  }
});

self.addEventListener("fetch", (event) => {
  const url = new URL(event.request.url);
  if (event.request.method !== "GET" || url.origin !== self.location.origin) return;
  if (event.request.mode === "navigate" && url.pathname === "/shift") event.respondWith(page(event));
  else if (url.pathname.startsWith("/static/")) event.respondWith(file(event));
});

// page asks the yard first; without an answer it shows what it has, marked as old.
async function page(event) {
  const asked = fetch(event.request);
  asked.catch(() => {});
  let late;
  const slow = new Promise((_, no) => { late = setTimeout(() => no(new Error("slow")), patience); });
  try {
    const answer = await Promise.race([asked, slow]);
    if (answer.status >= 502 && answer.status <= 504) throw new Error("nobody behind the door");
    event.waitUntil(keepPage(event.request.url, answer.clone()));
    return answer;
  } catch {
    return (await kept(event.request.url)) || asked;
  } finally {
    clearTimeout(late);
  }
}

const crewOf = (url) => new URL(url).searchParams.get("crew") || "";
const shelfName = (crew) => "/shift?kept=" + encodeURIComponent(crew);

// keepPage keeps a page for its crew, and as the last one seen. A page about one stage
// that was asked for, or a door in its place, is not a crew's page.
async function keepPage(url, answer) {
  const type = answer.headers.get("Content-Type") || "";
  if (!answer.ok || answer.redirected || !type.startsWith("text/html") || new URL(url).searchParams.has("stage")) return;
  const books = await caches.open(shelf), crew = crewOf(url);
  if (crew) await books.put(shelfName(crew), answer.clone());
  await books.put(shelfName(""), answer.clone());
}

async function kept(url) {
  const books = await caches.open(shelf);
  const found = (await books.match(shelfName(crewOf(url)))) || (await books.match(shelfName("")));
  if (!found) return null;
  const text = (await found.text()).replace(/<html lang="en"(?: class="([^"]*)")?>/, (_, light) => `<html lang="en" class="kept ${light || ""}">`);
  return new Response(text, { headers: found.headers });
}

// file answers from the shelf what cannot have changed: its address names its print.
async function file(event) {
  const held = await (await caches.open(shelf)).match(event.request.url);
  if (held) return held;
  const answer = await fetch(event.request);
  event.waitUntil(keepFile(event.request.url, answer.clone()));
  return answer;
}

async function keepFile(url, answer) {
  if (!answer.ok || !new URL(url).searchParams.has("v")) return;
  const books = await caches.open(shelf);
  for (const old of await books.keys()) {
    if (new URL(old.url).pathname === new URL(url).pathname && old.url !== url) await books.delete(old);
  }
  await books.put(url, answer);
}
