//! The server: one router of small handlers, each of which parses, asks the keeper, and answers.

pub mod about;
pub mod app;
mod assets;
pub mod authority;
pub mod body;
pub mod calendar;
pub mod clock;
mod described;
pub mod devices;
pub mod feedback;
pub mod forecast;
pub mod guard;
pub mod import;
pub mod layers;
pub mod limit;
pub mod lists;
pub mod metrics;
mod open;
pub mod outing;
pub mod paper;
pub mod people;
pub mod photos;
pub mod problem;
pub mod read;
pub mod readings;
pub mod retention;
pub mod settings;
pub mod sign_in;
pub mod tags;
pub mod trust;
pub mod who;
pub mod write;

use axum::Router;
use utoipa::OpenApi;
use utoipa_axum::{
    router::{OpenApiRouter, UtoipaMethodRouterExt as _},
    routes,
};

pub use app::{App, Doors};
pub use clock::Clock;
pub use open::{Addresses, Certificate, Site, serve};

#[derive(OpenApi)]
#[openapi(
    info(
        title = "Muster",
        description = "Whether each machine of a yard may go out, why, and what was seen and decided. Every answer that \
                       is no success is a problem (RFC 9457)."
    ),
    tags(
        (name = "yard", description = "Machines, their verdicts and walk-rounds"),
        (name = "record", description = "What happened: commands and the log"),
        (name = "sync", description = "How devices come to hold the same"),
        (name = "paper", description = "What is printed, and known again"),
        (name = "people", description = "Who may do what"),
        (name = "about", description = "The server itself"),
    )
)]
struct Description;

/// The whole router, and its OpenAPI 3.1 description.
pub fn router(app: App) -> Router {
    let (router, mut api) = doors().split_for_parts();
    api.info.version = env!("CARGO_PKG_VERSION").into();
    let described = described::text(&api);
    let json = axum::http::HeaderValue::from_static("application/json");
    let description = move || async move { ([(axum::http::header::CONTENT_TYPE, json)], described) };
    let router = router
        .route("/api/v1/openapi.json", axum::routing::get(description))
        .route("/api/v1/problems", axum::routing::get(about::problems))
        .fallback(assets::asset)
        .method_not_allowed_fallback(about::otherwise);
    layers::around(router, &app).with_state(app)
}

/// Every door of the server that is described.
fn doors() -> OpenApiRouter<App> {
    OpenApiRouter::with_openapi(Description::openapi())
        .routes(routes!(about::health))
        .routes(routes!(about::metrics))
        .routes(routes!(about::me))
        .routes(routes!(read::yard))
        .routes(routes!(read::machine))
        .routes(routes!(read::walk_round))
        .routes(routes!(outing::outing))
        .routes(routes!(forecast::estimate))
        .routes(routes!(readings::readings))
        .routes(routes!(readings::latest))
        .routes(routes!(readings::history))
        .routes(routes!(read::record))
        .routes(routes!(readings::event))
        .routes(routes!(photos::upload, photos::piece, photos::end).layer(photos::limit()))
        .routes(routes!(photos::photo))
        .routes(routes!(write::command))
        .routes(routes!(write::heads, write::receive))
        .routes(routes!(write::missing))
        .routes(routes!(write::carried))
        .routes(routes!(write::glance))
        .routes(routes!(write::news))
        .routes(routes!(sign_in::sign_in, sign_in::sign_out))
        .routes(routes!(sign_in::first_owner))
        .routes(routes!(sign_in::password_by_code))
        .routes(routes!(people::people, people::add))
        .routes(routes!(people::change, people::erase))
        .routes(routes!(people::password))
        .routes(routes!(people::set_pin))
        .routes(routes!(people::check_pin))
        .routes(routes!(people::pins))
        .routes(routes!(devices::devices, devices::enrol))
        .routes(routes!(devices::code))
        .routes(routes!(devices::revoke))
        .routes(routes!(feedback::about, feedback::say))
        .routes(routes!(feedback::drawn, feedback::draw_anew))
        .routes(routes!(retention::retention, retention::retain))
        .routes(routes!(lists::list))
        .routes(routes!(import::machines))
        .routes(routes!(import::readings))
        .routes(routes!(calendar::calendar))
        .routes(routes!(calendar::by_address))
        .routes(routes!(calendar::addresses, calendar::draw))
        .routes(routes!(calendar::revoke))
        .routes(routes!(paper::print))
        .routes(routes!(paper::verify).layer(paper::limit()))
        .routes(routes!(paper::issued))
        .routes(routes!(paper::resting))
        .routes(routes!(tags::tag))
        .routes(routes!(settings::settings, settings::change))
        .routes(routes!(settings::put_mark, settings::drop_mark).layer(settings::limit()))
}
