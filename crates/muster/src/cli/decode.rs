//! `muster decode`: what is stamped or moulded on a machine, read.

use anyhow::Result;
use jiff::{Timestamp, tz::TimeZone};
use muster_core::{
    calendar::Moment,
    formula::{
        tyre_date::TyreDate,
        vin::{CheckDigit, Region, Vin},
    },
};

use super::{
    MAY_GO,
    arguments::{Decode, Global},
    paper,
};

/// Reads a marking.
///
/// # Errors
/// A text that is none.
pub(crate) fn run(global: &Global, what: &Decode) -> Result<u8> {
    let text = match what {
        Decode::Vin { text } => vin(&Vin::parse(&text.concat())?),
        Decode::TyreDate { text } => tyre_date(TyreDate::parse(&text.join(" "))?, global.on)?,
    };
    paper::print(&text)?;
    Ok(MAY_GO)
}

fn vin(vin: &Vin) -> String {
    let region = match vin.region() {
        Region::Africa => "Africa",
        Region::Asia => "Asia",
        Region::Europe => "Europe",
        Region::NorthAmerica => "North America",
        Region::Oceania => "Oceania",
        Region::SouthAmerica => "South America",
        Region::Other => "other, or not assigned",
    };
    let digit = match vin.check_digit() {
        CheckDigit::Matches => "right".to_string(),
        CheckDigit::Differs { expected } => {
            format!("wrong: position 9 should be {expected}; a character was misread, or the number is not genuine")
        }
        CheckDigit::NotRequired => "not required where this number comes from".to_string(),
    };
    let year = vin.model_years().map_or_else(
        || "position 10 is no year code".to_string(),
        |[early, late]| format!("{early} or {late}, where position 10 is used for it"),
    );
    format!("VIN          {vin}\nregion       {region}\ncheck digit  {digit}\nmodel year   {year}\n")
}

fn tyre_date(date: TyreDate, on: Option<Moment>) -> Result<String> {
    let today = on.map_or_else(|| TimeZone::system().to_datetime(Timestamp::now()).date(), Moment::date);
    let age = date.age_at(today)?;
    Ok(format!(
        "code  {date}\nmade  week {} of {}: {} to {}, up to {} days either way\nage   {:.1} years on {today}\n",
        date.week(),
        date.year(),
        date.first_day(),
        date.last_day(),
        TyreDate::WEEK_DOUBT_DAYS,
        (age.decimal_years() * 10.0).floor() / 10.0,
    ))
}
