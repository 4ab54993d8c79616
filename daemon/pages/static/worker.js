// Shows what the yard sends to this browser while no page is open. A repeat has its id and
// takes the place of the first, silently.
"use strict";

self.addEventListener("push", (event) => {
  let told = { id: "", title: "A notice", body: "Open the notices page." };
  try { told = event.data.json(); } catch { /* not ours: the page says what there is */ }
  event.waitUntil(self.registration.showNotification(told.title, { body: told.body, tag: told.id, requireInteraction: true }));
});

self.addEventListener("notificationclick", (event) => {
  event.notification.close();
  event.waitUntil(self.clients.openWindow("/notices"));
});
