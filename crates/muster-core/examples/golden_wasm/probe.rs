//! Answers a request by the functions whose last bits the standard library leaves to the platform.

use serde_json::{Value, json};

/// Returns `exp`, `log` and `pow` of the request's `values`, each as the bits of a double.
///
/// Request: `{"values": [number, …]}`. Reply: `{"exp": [hex, …], "log": […], "pow": […]}`, or
/// `{"error": text}`.
pub(super) fn answer_json(request: &str) -> String {
    match values(request) {
        Ok(values) => json!({
            "exp": bits(&values, libm::exp),
            "log": bits(&values, libm::log),
            "pow": bits(&values, |value| libm::pow(value, 1.7)),
        })
        .to_string(),
        Err(error) => json!({ "error": error }).to_string(),
    }
}

fn values(request: &str) -> Result<Vec<f64>, String> {
    let request: Value = serde_json::from_str(request).map_err(|error| error.to_string())?;
    let values = request.get("values").and_then(Value::as_array).ok_or("the request has no values")?;
    values.iter().map(|value| value.as_f64().ok_or_else(|| format!("{value} is no number"))).collect()
}

fn bits(values: &[f64], function: fn(f64) -> f64) -> Vec<String> {
    values.iter().map(|&value| format!("{:016x}", function(value).to_bits())).collect()
}
