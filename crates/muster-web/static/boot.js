import init from "/{{APP}}/app.js";
// The first paint does not share the line with half a megabyte; a page nobody sees paints nothing and goes on by the clock.
await new Promise((go) => { setTimeout(go, 500); requestAnimationFrame(() => setTimeout(go)); });
await init({ module_or_path: "/{{APP}}/app_bg.wasm" });
