//! The page's files, built into the program.

use axum::Router;
use axum::http::header::CONTENT_TYPE;
use axum::routing::get;

use crate::words::Language;

/// One file of the page.
struct Asset {
    path: &'static str,
    media: &'static str,
    text: &'static str,
}

const HTML: &str = "text/html; charset=utf-8";
const CSS: &str = "text/css; charset=utf-8";
const IMAGE: &str = "image/svg+xml";
const JSON: &str = "application/json";
const SCRIPT: &str = "text/javascript; charset=utf-8";

/// A file of the page under its own name.
macro_rules! asset {
    ($file:literal, $media:ident) => {
        Asset {
            path: concat!("/page/", $file),
            media: $media,
            text: include_str!(concat!("../page/", $file)),
        }
    };
}

/// One line per file.
const ASSETS: &[Asset] = &[
    Asset { path: "/", media: HTML, text: include_str!("../page/index.html") },
    asset!("air.css", CSS),
    asset!("air.js", SCRIPT),
    asset!("air-strings.js", SCRIPT),
    asset!("calibration.css", CSS),
    asset!("calibration.js", SCRIPT),
    asset!("commands.js", SCRIPT),
    asset!("controls.js", SCRIPT),
    asset!("course.css", CSS),
    asset!("course.js", SCRIPT),
    asset!("course-forms.js", SCRIPT),
    Asset { path: "/desk", media: HTML, text: include_str!("../page/desk.html") },
    asset!("desk-amend.js", SCRIPT),
    asset!("desk-ask.js", SCRIPT),
    asset!("desk-curve.js", SCRIPT),
    asset!("desk-history.js", SCRIPT),
    asset!("desk-list.js", SCRIPT),
    asset!("desk-table.js", SCRIPT),
    asset!("desk-visit.js", SCRIPT),
    asset!("desk-words.js", SCRIPT),
    asset!("desk.css", CSS),
    asset!("desk.html", HTML),
    asset!("desk.js", SCRIPT),
    asset!("exchange.js", SCRIPT),
    asset!("fitting.js", SCRIPT),
    asset!("fitting-strings.js", SCRIPT),
    asset!("forms.js", SCRIPT),
    asset!("frame.js", SCRIPT),
    asset!("gauge.css", CSS),
    asset!("gauge.js", SCRIPT),
    asset!("header.js", SCRIPT),
    asset!("icon.svg", IMAGE),
    asset!("legend.js", SCRIPT),
    asset!("level.js", SCRIPT),
    asset!("live.js", SCRIPT),
    asset!("main.js", SCRIPT),
    asset!("marks.js", SCRIPT),
    asset!("notes.js", SCRIPT),
    asset!("page.css", CSS),
    asset!("panel.js", SCRIPT),
    asset!("rests.js", SCRIPT),
    asset!("sound.js", SCRIPT),
    asset!("speech.js", SCRIPT),
    asset!("strings.js", SCRIPT),
    asset!("summary.js", SCRIPT),
    asset!("svg.js", SCRIPT),
    asset!("tables.js", SCRIPT),
    asset!("view.js", SCRIPT),
    Asset { path: "/page/words/de.json", media: JSON, text: Language::De.file() },
    Asset { path: "/page/words/en.json", media: JSON, text: Language::En.file() },
];

/// Routes that serve the page.
pub(super) fn routes<S: Clone + Send + Sync + 'static>() -> Router<S> {
    ASSETS.iter().fold(Router::new(), |router, asset| {
        router.route(asset.path, get(|| async { ([(CONTENT_TYPE, asset.media)], asset.text) }))
    })
}
