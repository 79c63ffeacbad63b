//! Every screen, by what a person wants there. The yard comes with the first load; each other part is a module of its
//! own, fetched when it is first asked for and kept by the service worker from the first visit on.

mod add;
mod jobs;
mod kerb;
mod later;
mod machine;
mod nowhere;
mod outing;
mod paper;
mod people;
mod records;
mod walk;
mod wear;
mod yard;

pub(crate) use nowhere::Nowhere;
pub(crate) use yard::YardScreen;

later::parts! {
    desk: desk_yard => yard::DeskYard;
    walk: start => walk::StartScreen, check => walk::WalkScreen, summary => walk::SummaryScreen, fall => kerb::Fall, returned => kerb::Return, rounds => kerb::Rounds, round => kerb::Round, session => kerb::SessionScreen, tag => kerb::TagScreen;
    typed: typed_start => walk::TypedStart, typed => walk::TypedScreen;
    outing: outing => outing::OutingScreen, planned => outing::PlannedScreen;
    scan: scan => kerb::Scan;
    machine: machine => machine::MachineScreen, jobs => jobs::JobsScreen, wear => wear::WearScreen, records => records::RecordsScreen, record => records::RecordScreen, paper => paper::PaperScreen;
    people: add => add::Add, many => add::AddMany, gauges => add::Gauges, sheet => add::SheetScreen, sign_in => people::SignIn, me => people::MeScreen, people => people::People, devices => people::Devices, first => people::First, password => people::Password, enrol => people::Enrol, feedback => people::Feedback;
}
