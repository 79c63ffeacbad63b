import init from "/{{APP}}/app.js";
await init({ module_or_path: "/{{APP}}/app_bg.wasm" });
