//! The page's files, built into the program.

use axum::Router;
use axum::http::header::CONTENT_TYPE;
use axum::routing::get;

/// One file of the page.
struct Asset {
    path: &'static str,
    media: &'static str,
    text: &'static str,
}

const HTML: &str = "text/html; charset=utf-8";
const CSS: &str = "text/css; charset=utf-8";
const SCRIPT: &str = "text/javascript; charset=utf-8";

/// One line per file: address, media type, text.
const ASSETS: &[Asset] = &[
    Asset {
        path: "/",
        media: HTML,
        text: include_str!("../page/index.html"),
    },
    Asset {
        path: "/page/page.css",
        media: CSS,
        text: include_str!("../page/page.css"),
    },
    Asset {
        path: "/page/main.js",
        media: SCRIPT,
        text: include_str!("../page/main.js"),
    },
];

/// Routes that serve the page.
pub(super) fn routes<S: Clone + Send + Sync + 'static>() -> Router<S> {
    ASSETS.iter().fold(Router::new(), |router, asset| {
        router.route(
            asset.path,
            get(|| async { ([(CONTENT_TYPE, asset.media)], asset.text) }),
        )
    })
}
