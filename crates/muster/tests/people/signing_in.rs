//! Passwords, cookies, sessions, the first owner, other sites, other addresses.

use muster::{
    people::{first, session},
    serve::{Clock, Doors, Site, guard::PROXIES, serve},
};
use muster_core::record::payload::Role;
use serde_json::{Value, json};

use super::kit::{Ask, PHRASE, Yard, now, pass, person, spare};

const DAY_S: i64 = 24 * 3600;

fn tries(yard: &Yard, who: &str, phrase: &str) -> (u16, String) {
    let asked = json!({ "person": who, "password": phrase });
    let answer = yard.ask(Ask::default(), "POST", "/api/v1/sign-in", Some(&asked));
    (answer.status, answer.body["detail"].as_str().unwrap_or_default().to_string())
}

#[test]
fn guesses_are_throttled_and_who_there_is_does_not_show() {
    let yard = Yard::new();
    yard.gives_password(&person(Role::Owner), PHRASE);
    let story = |who: &str| {
        let mut story = Vec::new();
        for _ in 0..7 {
            story.push(tries(&yard, who, "not this phrase"));
        }
        story
    };
    let (somebody, nobody) = (story("Olive Gatehouse"), story("Wilma Nowhere"));
    assert_eq!(somebody, nobody, "an answer tells who there is");
    // A person without a password is answered as nobody is.
    assert_eq!(story("Sam Spareman"), nobody);
    let statuses: Vec<u16> = somebody.iter().map(|(status, _)| *status).collect();
    assert_eq!(statuses, [403, 403, 403, 403, 403, 429, 429]);
    assert!(somebody[5].1.contains("wait 15 s"), "{}", somebody[5].1);

    // Blocked, the right one is not looked at either; 15 s later a wrong one costs 30.
    assert_eq!(tries(&yard, "Olive Gatehouse", PHRASE).0, 429);
    pass(15);
    assert_eq!(tries(&yard, "Olive Gatehouse", "not this phrase").0, 403);
    assert!(tries(&yard, "Olive Gatehouse", PHRASE).1.contains("wait 30 s"));
    pass(30);
    assert_eq!(tries(&yard, "olive gatehouse ", PHRASE).0, 200, "by name, whatever its letters' case");
    // Right once, the count begins anew.
    assert_eq!(tries(&yard, "p-owner", "not this phrase").0, 403);
    assert_eq!(tries(&yard, "p-owner", PHRASE).0, 200, "by id");
}

#[test]
fn a_browser_gets_a_cookie_no_script_reads_and_a_program_a_token() {
    let mut yard = Yard::new();
    yard.gives_password(&person(Role::Owner), PHRASE);
    let asked = json!({ "person": "Olive Gatehouse", "password": PHRASE });
    let page = [("sec-fetch-site", "same-origin"), ("host", "yard.example")];
    let browser = yard.ask(Ask { headers: &page, ..Ask::default() }, "POST", "/api/v1/sign-in", Some(&asked));
    assert_eq!(browser.body, json!({ "person": "p-owner" }));
    let cookie = &browser.headers["set-cookie"];
    let token = cookie.strip_prefix("__Host-muster=").and_then(|rest| rest.split(';').next()).unwrap().to_string();
    assert!(token.len() == 64 && token.bytes().all(|byte| byte.is_ascii_hexdigit()), "{token}");
    let flags = cookie.strip_prefix(&format!("__Host-muster={token}")).unwrap();
    assert_eq!(flags, "; Path=/; Secure; HttpOnly; SameSite=Strict; Max-Age=7776000");

    let line = format!("other=1; __Host-muster={token}");
    let me = |headers: &[(&str, &str)]| yard.ask(Ask { headers, ..Ask::default() }, "GET", "/api/v1/me", None).status;
    assert_eq!(me(&[("cookie", &line)]), 200);
    assert_eq!(me(&[("cookie", &format!("muster={token}"))]), 401, "the plain name does not count behind HTTPS");
    let out = yard.ask(Ask { headers: &[("cookie", &line)], ..Ask::default() }, "DELETE", "/api/v1/sign-in", None);
    assert_eq!(out.headers["set-cookie"], "__Host-muster=; Path=/; Secure; HttpOnly; SameSite=Strict; Max-Age=0");
    assert_eq!(me(&[("cookie", &line)]), 401, "the session itself has ended");

    // On this machine without HTTPS: no prefix and not secure, for browsers would not send it; a program gets its token.
    yard.opened_anew(Doors::SignIn { https: false });
    let program = yard.ask(Ask::default(), "POST", "/api/v1/sign-in", Some(&asked));
    let token = program.body["token"].as_str().unwrap().to_string();
    let expected = format!("muster={token}; Path=/; HttpOnly; SameSite=Strict; Max-Age=7776000");
    assert_eq!(program.headers["set-cookie"], expected);
    assert_eq!(yard.ask(Ask { token: Some(&token), ..Ask::default() }, "GET", "/api/v1/me", None).status, 200);
    // From elsewhere no password is taken in the clear.
    let afar = Ask { from: Some("192.0.2.7"), ..Ask::default() };
    let refused = yard.ask(afar, "POST", "/api/v1/sign-in", Some(&asked));
    assert_eq!(refused.status, 422);
    assert!(refused.text.contains("unencrypted"), "{}", refused.text);
}

#[test]
fn the_token_is_kept_only_as_its_hash() {
    let yard = Yard::new();
    let token = yard.token(&person(Role::Owner));
    drop(yard.opened.keeper.store().settings().unwrap());
    let folder = &yard.opened.folder;
    let mut read = 0;
    for file in std::fs::read_dir(folder).unwrap().map(|file| file.unwrap().path()).filter(|path| path.is_file()) {
        let bytes = std::fs::read(&file).unwrap();
        read += bytes.len();
        assert!(!bytes.windows(token.len()).any(|part| part == token.as_bytes()), "{}", file.display());
    }
    assert!(read > 10_000);
}

#[test]
fn a_session_ends_when_nobody_uses_it_and_at_last_anyway() {
    let yard = Yard::new();
    let owner = person(Role::Owner);
    let me = |token: &str| yard.ask(Ask { token: Some(token), ..Ask::default() }, "GET", "/api/v1/me", None).status;
    let idle = yard.token(&owner);
    pass(14 * DAY_S - 1);
    assert_eq!(me(&idle), 200);
    pass(14 * DAY_S);
    assert_eq!(me(&idle), 401, "unused for fourteen days");
    let used = yard.token(&owner);
    for _ in 0..6 {
        pass(13 * DAY_S);
        assert_eq!(me(&used), 200);
    }
    pass(12 * DAY_S - 1);
    assert_eq!(me(&used), 200);
    pass(1);
    assert_eq!(me(&used), 401, "ninety days after it began");
    assert_eq!(me("0123"), 401);
    assert!(session::person(&**yard.keeper().store(), &used, now()).unwrap().is_none());
}

#[test]
fn another_sites_page_writes_nothing() {
    let yard = Yard::new();
    let token = yard.token(&person(Role::Owner));
    let line = format!("__Host-muster={token}");
    let tag = json!({ "do": "tag", "machine": "H-07", "why": "clutch drags" });
    let send = |method: &str, path: &str, headers: &[(&str, &str)]| {
        let mut all = vec![("cookie", line.as_str()), ("host", "yard.example")];
        all.extend_from_slice(headers);
        let body = (method == "POST").then_some(&tag);
        yard.ask(Ask { headers: &all, ..Ask::default() }, method, path, body).status
    };
    let command = |headers: &[(&str, &str)]| send("POST", "/api/v1/commands", headers);
    for (name, value) in [
        ("sec-fetch-site", "cross-site"),
        ("sec-fetch-site", "same-site"),
        ("origin", "https://elsewhere.example"),
        ("origin", "https://yard.example.elsewhere.example"),
        ("origin", "https://yard.example:444"),
        ("origin", "null"),
    ] {
        assert_eq!(command(&[(name, value)]), 403, "{name}: {value}");
    }
    assert_eq!(command(&[("sec-fetch-site", "same-origin")]), 201);
    assert_eq!(command(&[("origin", "https://yard.example")]), 201);
    // What only reads, answers: the other page does not see it, for nothing here allows it to.
    let other = [("sec-fetch-site", "cross-site"), ("origin", "https://elsewhere.example")];
    let all = [other[0], other[1], ("cookie", line.as_str())];
    let read = yard.ask(Ask { headers: &all, ..Ask::default() }, "GET", "/api/v1/me", None);
    assert_eq!(read.status, 200);
    assert!(!read.headers.contains_key("access-control-allow-origin"));
    // Nor does it sign anybody in as somebody else.
    assert_eq!(send("POST", "/api/v1/sign-in", &[("sec-fetch-site", "cross-site")]), 403);
    assert_eq!(send("DELETE", "/api/v1/sign-in", &[("sec-fetch-site", "cross-site")]), 403);
}

#[test]
fn nobody_has_a_password_that_nobody_chose() {
    let yard = Yard::empty(Doors::SignIn { https: true });
    for (who, phrase) in [("owner", "owner"), ("admin", "admin"), ("muster", "muster"), ("owner", ""), ("", "")] {
        assert_eq!(tries(&yard, who, phrase).0, 403, "{who}");
    }
    let invited = first::invitation(yard.keeper(), "https://yard.example", now()).unwrap().unwrap();
    assert!(invited.contains("https://yard.example/first#") && invited.ends_with("once, within 60 min"), "{invited}");
    let code = invited.split(['#', ' ']).find(|part| part.len() == 32).unwrap().to_string();
    let begins = |code: &str, name: &str, password: &str| {
        let asked = json!({ "code": code, "name": name, "password": password });
        yard.ask(Ask::default(), "POST", "/api/v1/first", Some(&asked))
    };
    assert_eq!(begins("0".repeat(32).as_str(), "Olive Gatehouse", PHRASE).status, 403);
    assert_eq!(begins(&code, "Olive Gatehouse", "too short").status, 400);
    pass(3600);
    assert_eq!(begins(&code, "Olive Gatehouse", PHRASE).status, 403, "an hour is over");
    let (code, late) = (first::draw(yard.keeper(), now()).unwrap(), first::draw(yard.keeper(), now()).unwrap());
    let begun = begins(&code, "Olive Gatehouse", PHRASE);
    assert_eq!(begun.status, 200, "{}", begun.text);
    // Once: neither that code nor another makes a second owner.
    assert_eq!(begins(&code, "Mallory Gate", PHRASE).status, 403);
    assert_eq!(begins(&late, "Mallory Gate", PHRASE).status, 409);
    assert!(first::invitation(yard.keeper(), "https://yard.example", now()).unwrap().is_none());

    let token = begun.body["token"].as_str().unwrap();
    let asks = Ask { token: Some(token), ..Ask::default() };
    let me = yard.ask(asks, "GET", "/api/v1/me", None);
    assert_eq!((me.body["role"].as_str(), me.body["rights"].as_array().map(Vec::len)), (Some("owner"), Some(3)));
    let devices = yard.ask(asks, "GET", "/api/v1/devices", None);
    assert_eq!((devices.body[0]["label"].as_str(), devices.body[0]["own"].as_bool()), (Some("the server"), Some(true)));
    // Whoever is added has no password until they set one by a link.
    let added =
        yard.ask(asks, "POST", "/api/v1/people", Some(&json!({ "name": "Ida Coneslalom", "role": "instructor" })));
    let id: muster_core::record::id::PersonId = added.body["person"].as_str().unwrap().parse().unwrap();
    for person in yard.keeper().known().state.people.keys() {
        let account = yard.keeper().store().account(person).unwrap();
        assert_eq!(account.is_some(), person.as_str() == me.body["person"], "{person}");
    }
    let link = yard.ask(asks, "POST", &format!("/api/v1/people/{id}/password"), Some(&json!({})));
    let code = link.body["link"].as_str().unwrap().rsplit_once("/password#").unwrap().1.to_string();
    assert!(link.body["svg"].as_str().unwrap().contains("<svg"));
    let sets = json!({ "code": code, "password": "a phrase of her own" });
    assert_eq!(yard.stranger_asks("POST", "/api/v1/password", &sets, 200)["person"], json!(id));
    yard.stranger_asks("POST", "/api/v1/password", &sets, 403);
    assert_eq!(tries(&yard, "Ida Coneslalom", "a phrase of her own").0, 200);
    yard.asks(
        &me.body["person"].as_str().unwrap().parse().unwrap(),
        "POST",
        "/api/v1/people/rider-feedback/password",
        &json!({}),
        404,
    );
    // The record is trusted from its first event on.
    assert_eq!(yard.keeper().known().state.flags, []);
}

#[test]
fn a_password_is_changed_by_the_one_before_and_signs_out_everywhere() {
    let yard = Yard::new();
    let spare = spare();
    yard.gives_password(&spare, PHRASE);
    let elsewhere = yard.token(&spare);
    let path = "/api/v1/people/p-spare/password";
    let asked = |current: &str| json!({ "current": current, "password": "another plain phrase" });
    yard.asks(&spare, "POST", path, &asked("not this phrase"), 403);
    assert_eq!(yard.asks(&spare, "POST", path, &asked(PHRASE), 200)["person"], "p-spare");
    assert_eq!(yard.ask(Ask { token: Some(&elsewhere), ..Ask::default() }, "GET", "/api/v1/me", None).status, 401);
    assert_eq!(tries(&yard, "p-spare", PHRASE).0, 403);
    assert_eq!(tries(&yard, "p-spare", "another plain phrase").0, 200);
    // Who may not act any more is out at once.
    let token = yard.token(&spare);
    yard.asks(&person(Role::Owner), "PATCH", "/api/v1/people/p-spare", &json!({ "active": false }), 204);
    assert_eq!(yard.ask(Ask { token: Some(&token), ..Ask::default() }, "GET", "/api/v1/me", None).status, 401);
    assert_eq!(tries(&yard, "p-spare", "another plain phrase").0, 403);
}

#[test]
fn an_address_that_asks_too_often_waits_and_forwarded_ones_are_believed_only_when_set() {
    let mut yard = Yard::new();
    let asked = json!({ "code": "0".repeat(32), "password": "a long phrase" });
    let send = |yard: &Yard, from: &str, forwarded: Option<&str>| {
        let headers: Vec<_> = forwarded.map(|of| ("x-forwarded-for", of)).into_iter().collect();
        let ask = Ask { from: Some(from), headers: &headers, ..Ask::default() };
        yard.ask(ask, "POST", "/api/v1/password", Some(&asked)).status
    };
    for _ in 0..240 {
        assert_eq!(send(&yard, "192.0.2.7", None), 403);
    }
    assert_eq!(send(&yard, "192.0.2.7", None), 429);
    assert_eq!(send(&yard, "192.0.2.7", Some("198.51.100.1")), 429, "a header anybody writes changes nothing");
    assert_eq!(send(&yard, "192.0.2.8", None), 403);
    // Other doors are not shut by it, and after two seconds there are two more tries.
    assert_eq!(yard.ask(Ask { from: Some("192.0.2.7"), ..Ask::default() }, "GET", "/health", None).status, 200);
    pass(2);
    assert_eq!([0; 3].map(|_| send(&yard, "192.0.2.7", None)), [403, 403, 429]);

    yard.keeper().store().put_setting(PROXIES, Some("1")).unwrap();
    yard.opened_anew(Doors::SignIn { https: false });
    for _ in 0..240 {
        assert_eq!(send(&yard, "192.0.2.9", Some("203.0.113.5, 198.51.100.1")), 403);
    }
    assert_eq!(send(&yard, "192.0.2.9", Some("203.0.113.99, 198.51.100.1")), 429, "what the last one saw counts");
    assert_eq!(send(&yard, "192.0.2.9", Some("198.51.100.2")), 403);
}

#[test]
fn the_demonstration_is_for_this_machine_alone_and_says_so() {
    let mut yard = Yard::new();
    yard.opened_anew(Doors::Demonstration(person(Role::Owner)));
    let host = |host: &str| {
        let headers = [("host", host)];
        yard.ask(Ask { headers: &headers, ..Ask::default() }, "GET", "/api/v1/me", None)
    };
    let own = host("localhost:7070");
    assert_eq!((own.status, own.body["demonstration"].as_bool()), (200, Some(true)));
    assert_eq!(own.headers["muster-demonstration"], "everybody acts as its owner; served on loopback only");
    assert_eq!(host("yard.example").status, 403, "another name that leads here");
    assert_eq!(yard.stranger_asks("GET", "/health", &Value::Null, 200)["demonstration"], true);
    let asked = json!({ "person": "Olive Gatehouse", "password": PHRASE });
    let refused = yard.stranger_asks("POST", "/api/v1/sign-in", &asked, 422);
    assert!(refused["detail"].as_str().unwrap().contains("no sign-in"), "{refused}");
    let cross = [("sec-fetch-site", "cross-site"), ("host", "localhost:7070")];
    let tag = json!({ "do": "tag", "machine": "H-07", "why": "clutch drags" });
    assert_eq!(yard.ask(Ask { headers: &cross, ..Ask::default() }, "POST", "/api/v1/commands", Some(&tag)).status, 403);

    for open in ["0.0.0.0:0", "[::]:0", "192.0.2.1:0"] {
        let empty = Yard::empty(Doors::SignIn { https: true });
        let doors = Doors::Demonstration(person(Role::Owner));
        let refused = yard.waits(async {
            let site =
                Site { opened: empty.opened, listen: open.parse().unwrap(), doors, clock: Clock::Own, identity: None };
            serve(site, |_| ()).await.unwrap_err().to_string()
        });
        assert!(refused.contains("loopback only"), "{open}: {refused}");
    }
}
