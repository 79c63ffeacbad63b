// Asks the HTTPS port of this host: the request goes through only if the certificate is trusted here.
const state = document.getElementById("state");
const home = `https://${location.hostname}:${document.body.dataset.port}/`;
const say = (name, words) => {
  state.dataset.state = name;
  state.textContent = words;
};
async function check() {
  say("asking", "Asking …");
  try {
    await fetch(`${home}health`, { mode: "no-cors", cache: "no-store" });
    say("trusted", "Trusted: this device reaches the yard safely.");
    document.querySelector("#go a").href = home;
    document.getElementById("go").hidden = false;
  } catch {
    say("not-trusted", "Not trusted yet, or the server cannot be reached: install the certificate below, then check again.");
  }
}
const agent = navigator.userAgent;
const platform =
  /Android/.test(agent) ? "android"
  : /iPhone|iPad/.test(agent) ? "ios"
  : /Windows/.test(agent) ? "windows"
  : /Mac OS/.test(agent) ? "mac"
  : "linux";
document.querySelector(`details[data-platform="${platform}"]`).open = true;
document.getElementById("again").addEventListener("click", check);
check();
