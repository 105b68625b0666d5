// The pages work without this; with it a form is answered in its place.
"use strict";
document.addEventListener("htmx:configRequest", (event) => {
  event.detail.headers["X-Leafclock-Token"] = document.body.dataset.token;
});
// A refusal is an answer too: it is shown where the form stood, and what was entered stays.
document.addEventListener("htmx:beforeSwap", (event) => {
  if (event.detail.xhr.status >= 400) {
    event.detail.shouldSwap = true;
    event.detail.isError = false;
    event.detail.swapOverride = "beforebegin";
  }
});
document.addEventListener("htmx:sendError", () => {
  document.body.classList.add("offline");
});
