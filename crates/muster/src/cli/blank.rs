//! A form to fill at the kerb: TOML, its comments carrying method, caution, limit and page.

use std::fmt::Write as _;

use muster_core::{
    calendar::Moment,
    check::{DateOf, Yields},
    judge::Context,
    walk_round::{Ask, WalkRound},
    yard::Units,
};

use super::{
    arguments::WalkRound as Asked,
    explain::capital,
    walk_round::{FIRST_LINE, fitting, seconds, total},
};

/// The text of a blank form.
pub(crate) fn form(context: &Context<'_>, asked: &Asked, walk: &WalkRound<'_>, back: Moment) -> String {
    let mut out = String::new();
    head(&mut out, context, asked, walk);
    let _ = writeln!(out, "\n[outing]\nuse = \"{}\"", asked.planned);
    let till = if asked.back.is_some() { "" } else { "   # the day's end until you say otherwise" };
    let _ = writeln!(out, "back = {back}{till}\n# distance = \"40 km\"");
    let mut number = 0;
    let mut place = String::new();
    for ask in &walk.evening {
        number += 1;
        section(&mut out, &mut place, "Read first: prepared the evening before");
        answer(&mut out, context, ask, number);
    }
    for ask in &walk.steps {
        for change in &ask.changes {
            let _ = writeln!(out, "\n# => {}", capital(change));
            place.clear();
        }
        number += 1;
        section(&mut out, &mut place, &capital(&ask.station.as_str().replace('-', " ")));
        answer(&mut out, context, ask, number);
    }
    if !walk.deferred.is_empty() {
        let _ = writeln!(out, "\n# Not now, as it was found:");
        for (check, why) in &walk.deferred {
            comment(&mut out, &format!("{}: {why}", check.name));
        }
    }
    let _ = write!(
        out,
        "\n# Set and read again in this walk-round: one more block, with what was done.\n# [[answer]]\n\
         # check = \"tyre.front.pressure\"\n# after = \"pumped\"\n# read = \"\"\n# with = \"\"\n\n\
         # Anything else that is wrong:\n# [[finding]]\n# id = \"F-1\"\n# what = \"\"\n\
         # class = \"minor\"   # minor, major, dangerous\n\
         # check = \"\"\n# defect = \"\"   # the law pack's, as at its check; none: the gravest\n"
    );
    out
}

fn head(out: &mut String, context: &Context<'_>, asked: &Asked, walk: &WalkRound<'_>) {
    let machine = context.machine;
    comment(out, FIRST_LINE);
    comment(
        out,
        "Take the # from the next two lines that are true once you have looked; write false where it is not so.",
    );
    let _ = writeln!(out, "# no_hold_tag = true\n# key_on_hook = true\n");
    comment(
        out,
        &format!("{} {}: walk-round, {}, for {}.", machine.id, context.sheet.model, asked.depth, asked.planned),
    );
    let found = asked.found_on(context);
    comment(out, &format!("Found {found}. {}", total(walk)));
    comment(out, "A line left empty is not seen. saw: sound, doubtful, defective, or could not see with why = \"…\".");
    let (way, air) = if context.units == Units::Us { ("7 700 mi", "46 °F") } else { ("12 480 km", "8 °C") };
    let _ = write!(
        out,
        "schema = 1\nmachine = \"{}\"\ndepth = \"{}\"\nby = \"\"\nopened = {}\n# closed = {}\n\
         # odometer = \"{way}\"\n# air = \"{air}\"   # in the shade, beside the machine\n\
         # ridden = {}   # when it last came back: tyres are cold three hours later\n\
         found = {{ heat = \"{}\", power = \"{}\", stance = \"{}\" }}\n",
        machine.id, asked.depth, context.now, context.now, context.now, found.heat, found.power, found.stance
    );
}

fn section(out: &mut String, place: &mut String, name: &str) {
    if place != name {
        let _ = writeln!(out, "\n# ---- {name} ----");
        *place = name.to_string();
    }
}

fn answer(out: &mut String, context: &Context<'_>, ask: &Ask<'_>, number: usize) {
    let check = ask.check;
    let _ = writeln!(out);
    comment(out, &format!("{number}. {} ({})", check.name, seconds(check)));
    for line in &ask.method {
        comment(out, &format!("   {line}"));
    }
    if let Some(caution) = &ask.caution {
        comment(out, &format!("   Caution: {caution}"));
    }
    for limit in &ask.limits {
        comment(out, &format!("   = {limit}"));
    }
    for cannot in &ask.cannot {
        comment(out, &format!("   ! {cannot}"));
    }
    let _ = writeln!(out, "[[answer]]\ncheck = \"{}\"", check.id);
    let blanks = |places: &[String]| {
        let cells: Vec<String> = places.iter().map(|place| format!("{} = \"\"", key(place))).collect();
        if cells.is_empty() { "\"\"".to_string() } else { format!("{{ {} }}", cells.join(", ")) }
    };
    match &check.yields {
        Yields::Look(look) => {
            comment(out, &format!("   sound: {}", look.sound));
            comment(out, &format!("   doubtful: {}", look.doubtful));
            comment(out, &format!("   defective: {}", look.defective));
            let _ = writeln!(out, "saw = {}", blanks(&look.places));
            let defects = context.defects(check);
            if !defects.is_empty() {
                let keys: Vec<&str> = defects.iter().map(|row| row.key.as_str()).collect();
                let _ = writeln!(out, "# defect = \"\"   # by law, if not sound: {}", keys.join(", "));
            }
        }
        Yields::Read(measure) => {
            let ids: Vec<&str> = fitting(context, check).iter().map(|instrument| instrument.id.as_str()).collect();
            let unit = context.shown(measure).unit.symbol();
            let _ = writeln!(out, "read = {}   # with its unit: {unit}", blanks(&measure.places));
            let _ = writeln!(out, "with = \"\"   # {}", ids.join(", "));
        }
        Yields::Date(DateOf::Made { tyre_code: true }) => {
            let _ = writeln!(out, "read = \"\"   # four figures as moulded: 3219");
        }
        Yields::Date(_) => {
            let _ = writeln!(out, "read = \"\"   # a day: 2027-03-31");
        }
    }
}

/// A key as TOML wants it: quoted where it is not plain.
fn key(name: &str) -> String {
    let plain = name.chars().all(|c| c.is_ascii_alphanumeric() || c == '-' || c == '_');
    if plain { name.into() } else { format!("{name:?}") }
}

/// One comment line; a line feed in data never ends it early.
fn comment(out: &mut String, text: &str) {
    let _ = writeln!(out, "# {}", text.replace(['\n', '\r'], " "));
}
