import init from "/{{JS}}";
await init({ module_or_path: "/{{WASM}}" });
