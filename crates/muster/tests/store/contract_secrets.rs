//! What every back end must do with keys, accounts, sessions, codes and settings. Each function is one test of it.

use jiff::Timestamp;
use muster::store::{Account, Code, CodeHash, Secrets, Session, StoreError, TokenHash};
use muster_core::record::private::PersonKey;

use super::device::person;

fn at(second: i64) -> Timestamp {
    Timestamp::from_second(second).unwrap()
}

pub(crate) fn keys_are_kept_and_destroyed(store: &impl Secrets) {
    let (one, other) = (person("p-1"), person("p-2"));
    let key = PersonKey::new([1; 32]);
    assert_eq!(store.key(&one).unwrap(), None);
    store.put_key(&one, &key).unwrap();
    store.put_key(&one, &key).unwrap();
    store.put_key(&other, &PersonKey::new([2; 32])).unwrap();
    assert!(matches!(store.put_key(&one, &PersonKey::new([3; 32])), Err(StoreError::OtherKey(_))));
    assert_eq!(store.keys().unwrap(), [(one.clone(), key.clone()), (other.clone(), PersonKey::new([2; 32]))]);
    assert_eq!(store.key(&one).unwrap(), Some(key));
    assert!(store.destroy_key(&one).unwrap());
    assert!(!store.destroy_key(&one).unwrap());
    assert_eq!((store.key(&one).unwrap(), store.keys().unwrap().len()), (None, 1));
    // Whose key was destroyed may come again, and has a new one.
    store.put_key(&one, &PersonKey::new([3; 32])).unwrap();
}

pub(crate) fn an_account_goes_with_its_sessions_and_codes(store: &impl Secrets) {
    let who = person("p-1");
    let account = Account { phc: "$argon2id$v=19$…".into(), failed: 0, blocked_until: None };
    assert_eq!(store.account(&who).unwrap(), None);
    store.put_account(&who, &account).unwrap();
    let blocked = Account { failed: 5, blocked_until: Some(at(1000)), ..account };
    store.put_account(&who, &blocked).unwrap();
    assert_eq!(store.account(&who).unwrap(), Some(blocked));
    let session = Session { person: who.clone(), created: at(1), seen: at(1), expires: at(99) };
    store.put_session(TokenHash([1; 32]), &session).unwrap();
    let code = Code { person: who.clone(), expires: at(99), used: None };
    store.put_code(CodeHash([1; 32]), &code).unwrap();
    assert!(store.remove_account(&who).unwrap());
    assert!(!store.remove_account(&who).unwrap());
    assert_eq!((store.account(&who).unwrap(), store.session(TokenHash([1; 32])).unwrap()), (None, None));
    assert_eq!(store.use_code(CodeHash([1; 32]), at(5)).unwrap(), None);
}

pub(crate) fn sessions_are_seen_ended_and_pruned(store: &impl Secrets) {
    let session = |name, expires| Session { person: person(name), created: at(10), seen: at(10), expires: at(expires) };
    for (token, name, expires) in [(1, "p-1", 50), (2, "p-1", 100), (3, "p-2", 100)] {
        store.put_session(TokenHash([token; 32]), &session(name, expires)).unwrap();
    }
    assert!(store.put_session(TokenHash([1; 32]), &session("p-2", 100)).is_err(), "a token is nobody else's");
    store.session_seen(TokenHash([2; 32]), at(30)).unwrap();
    store.session_seen(TokenHash([2; 32]), at(20)).unwrap();
    assert_eq!(store.session(TokenHash([2; 32])).unwrap().unwrap().seen, at(30));
    assert_eq!(store.prune(at(60)).unwrap(), 1);
    assert_eq!(store.session(TokenHash([1; 32])).unwrap(), None);
    assert_eq!(store.end_sessions(&person("p-1")).unwrap(), 1);
    assert_eq!(store.session(TokenHash([3; 32])).unwrap(), Some(session("p-2", 100)));
    assert!(store.end_session(TokenHash([3; 32])).unwrap());
    assert!(!store.end_session(TokenHash([3; 32])).unwrap());
}

pub(crate) fn a_code_is_used_once(store: &impl Secrets) {
    let code = Code { person: person("p-1"), expires: at(100), used: None };
    store.put_code(CodeHash([1; 32]), &code).unwrap();
    store.put_code(CodeHash([2; 32]), &code).unwrap();
    assert_eq!(store.use_code(CodeHash([9; 32]), at(50)).unwrap(), None);
    assert_eq!(store.use_code(CodeHash([2; 32]), at(100)).unwrap(), None, "expired");
    let got_in = std::thread::scope(|scope| {
        let tries: Vec<_> =
            (0..8).map(|_| scope.spawn(|| store.use_code(CodeHash([1; 32]), at(50)).unwrap())).collect();
        tries.into_iter().filter_map(|thread| thread.join().unwrap()).collect::<Vec<_>>()
    });
    assert_eq!(got_in, [Code { used: Some(at(50)), ..code }]);
}

pub(crate) fn settings_the_own_key_and_acts(store: &impl Secrets) {
    assert_eq!((store.own_key().unwrap(), store.setting("port").unwrap()), (None, None));
    store.put_own_key(&[1; 32]).unwrap();
    store.put_own_key(&[2; 32]).unwrap();
    assert_eq!(store.own_key().unwrap(), Some([2; 32]));
    store.put_setting("port", Some("8080")).unwrap();
    store.put_setting("host", Some("muster.example")).unwrap();
    store.put_setting("port", Some("8443")).unwrap();
    let pair = |name: &str, value: &str| (name.to_owned(), value.to_owned());
    assert_eq!(store.settings().unwrap(), [pair("host", "muster.example"), pair("port", "8443")]);
    store.put_setting("host", None).unwrap();
    assert_eq!((store.setting("host").unwrap(), store.setting("port").unwrap()), (None, Some("8443".into())));
    assert_eq!(store.count_act("192.0.2.7", at(10), at(0)).unwrap(), 1);
    assert_eq!(store.count_act("192.0.2.7", at(20), at(0)).unwrap(), 2);
    assert_eq!(store.count_act("192.0.2.7", at(30), at(20)).unwrap(), 2);
    assert_eq!(store.count_act("192.0.2.8", at(30), at(0)).unwrap(), 1);
    assert_eq!(store.prune(at(30)).unwrap(), 2);
    assert_eq!(store.count_act("192.0.2.7", at(40), at(0)).unwrap(), 2);
}
