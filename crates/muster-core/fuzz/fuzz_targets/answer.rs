//! A question as JSON: the answer is JSON, a judgement or at least one problem.
#![no_main]

use libfuzzer_sys::fuzz_target;

fuzz_target!(|question: &str| {
    let answer = muster_core::answer_json(question);
    assert!(answer.starts_with("{\"judgement\":") && answer.ends_with(']') | answer.ends_with("]}"));
    assert!(!answer.starts_with("{\"judgement\":null,\"problems\":[]"), "neither a judgement nor a problem");
});
