//! What a rider says after riding, by the code on the machine and without signing in.

use leptos::prelude::*;
use muster_wire::people::{Feedback as Said, FeedbackAbout};

use super::form::{Form, Page, code, said, sent};
use crate::{words::t, yard::ask};

/// One text about one machine.
#[component]
pub(crate) fn Feedback() -> impl IntoView {
    let (text, done) = (RwSignal::new(String::new()), RwSignal::new(false));
    let about = LocalResource::new(|| async {
        let code = code().ok_or_else(|| t!("no-code"))?;
        let door = format!("/api/v1/feedback/{code}");
        ask::<FeedbackAbout>("GET", &door, None::<&()>).await.map_err(|error| said(&error))
    });
    let send = sent(move || {
        let (code, text) = (code(), text.get_untracked());
        async move {
            let door = format!("/api/v1/feedback/{}", code.ok_or_else(|| t!("no-code"))?);
            let asked = Said { text };
            ask::<serde_json::Value>("POST", &door, Some(&asked)).await.map_err(|error| said(&error))?;
            done.set(true);
            Ok(())
        }
    });
    let form = move |about: FeedbackAbout| {
        let most = about.most_characters.to_string();
        view! {
            <p>{t!("feedback-about", machine = about.machine.as_str(), yard = about.yard.as_str())}</p>
            <p class="cap">{about.please}</p>
            <Form button=t!("send") send>
                <label class="field">
                    <span>{t!("feedback-text")}</span>
                    <textarea class="input" rows="5" required maxlength=most on:input=move |event| text.set(event_target_value(&event))></textarea>
                </label>
            </Form>
            <p class="caution">{t!("feedback-danger")}</p>
        }
        .into_any()
    };
    view! {
        <Page title=t!("feedback")>
            {move || match (done.get(), about.get()) {
                (true, _) => view! { <p role="status">{t!("feedback-thanks")}</p> }.into_any(),
                (_, None) => view! { <p>{t!("asking")}</p> }.into_any(),
                (_, Some(Err(why))) => view! { <p class="err" role="alert">{why}</p> }.into_any(),
                (_, Some(Ok(about))) => form(about),
            }}
        </Page>
    }
}
