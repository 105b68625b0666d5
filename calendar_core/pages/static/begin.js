// Fills in where the phone is; without this the two numbers are typed.
"use strict";
document.addEventListener("DOMContentLoaded", () => {
  const here = document.getElementById("here");
  const told = document.getElementById("here-told");
  if (!here || !navigator.geolocation || !window.isSecureContext) return; // browsers tell it over https alone
  here.hidden = false;
  here.addEventListener("click", () => {
    told.textContent = "Asking the phone.";
    navigator.geolocation.getCurrentPosition(
      (found) => {
        // To a kilometre: more is not needed, and what is not there cannot be lost.
        document.getElementById("latitude").value = found.coords.latitude.toFixed(2);
        document.getElementById("longitude").value = found.coords.longitude.toFixed(2);
        document.getElementById("latitude").closest("details").open = true;
        told.textContent = "Filled in, to a kilometre.";
      },
      () => { told.textContent = "The phone does not tell; right would be a town, or two numbers."; },
      { timeout: 20000, maximumAge: 600000 },
    );
  });
});
