//! Oil read on a machine that leans otherwise: what the model needs to say anything.

use muster_core::judge::{Outcome, Verdict};

use super::{
    super::{NOW, yard::Texts},
    texts, told,
};

fn level(marks: &str, read: &str) -> Outcome {
    let sheet = format!(
        "[sump]\ndipstick_offset = \"45 mm\"\nlean = \"10 °\"\nfoot_offset = \"260 mm\"\nwidth = \"200 mm\"\ndepth = \"60 mm\"\n\
         marks = \"{marks}\"\n[[limit]]\ncheck = \"oil.level\"\nwithin = [\"0 %\", \"100 %\"]"
    );
    let form = format!("[[answer]]\ncheck = \"oil.level\"\nread = \"{read}\"\nwith = \"E\"");
    let machine = "[[modification]]\nwhat = \"Lowered\"\nride_height = \"-30 mm\"".into();
    told(&Texts { machine, ..texts("oil.level", &sheet, &form) }, "oil.level", NOW)
}

#[test]
fn marks_with_nothing_between_them_leave_the_model_nothing_to_say() {
    let outcome = level("0 mm", "80 %");
    assert_eq!(outcome.verdict, Verdict::Watch, "{outcome:?}");
    assert!(outcome.reason.contains("which misleads the stick"), "{outcome:?}");
}
