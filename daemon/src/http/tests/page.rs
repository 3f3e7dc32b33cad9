//! The page's files: all served, nothing from outside, nothing inline, texts that can be read.

use std::path::Path;

use axum::http::header::CONTENT_TYPE;

use super::*;

const CSS: &str = include_str!("../../page/page.css");
const HTML: &str = include_str!("../../page/index.html");

/// Names and texts of the files in the page's folder.
fn files() -> Vec<(String, String)> {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("src/page");
    let read = |entry: std::fs::DirEntry| {
        let text = std::fs::read_to_string(entry.path()).expect("a text file");
        (entry.file_name().into_string().expect("a plain name"), text)
    };
    let entries = std::fs::read_dir(folder).expect("the page's folder");
    entries.map(|entry| read(entry.expect("an entry"))).collect()
}

/// What stands between `before` and the next quote, for each `before`.
fn quoted<'a>(text: &'a str, before: &str) -> Vec<&'a str> {
    text.split(before).skip(1).filter_map(|rest| rest.split('"').next()).collect()
}

#[tokio::test]
async fn every_file_of_the_page_is_served_as_what_it_is() {
    let bench = Bench::default();
    for (name, text) in files() {
        let path = if name == "index.html" { "/".to_owned() } else { format!("/page/{name}") };
        let answer = bench.send(get(&path)).await;
        assert_eq!(answer.status(), StatusCode::OK, "{name} is not in the list of assets");
        let media = answer.headers()[CONTENT_TYPE].to_str().expect("text").to_owned();
        let expected = match name.rsplit('.').next() {
            Some("html") => "text/html",
            Some("css") => "text/css",
            Some("js") => "text/javascript",
            _ => "image/svg+xml",
        };
        assert!(media.starts_with(expected), "{name}: {media}");
        let body = to_bytes(answer.into_body(), 1 << 20).await.expect("a body");
        assert_eq!(body, text.as_bytes(), "{name}");
    }
}

#[tokio::test]
async fn every_file_that_is_asked_for_is_there() {
    let names: Vec<_> = files().into_iter().map(|(name, _)| name).collect();
    let mut asked = 0;
    for (file, text) in files() {
        let own = quoted(&text, "\"/page/").into_iter().chain(quoted(&text, "from \"./"));
        for name in own {
            assert!(names.iter().any(|known| known == name), "{file} asks for {name}");
            asked += 1;
        }
    }
    assert!(asked > names.len(), "only {asked} references were found");
}

#[test]
fn nothing_is_inline_and_nothing_comes_from_outside() {
    for (name, text) in files() {
        let text = text.replace("http://www.w3.org/2000/svg", "");
        for outside in ["http://", "https://", "//cdn", "url(//", "@import"] {
            assert!(!text.contains(outside), "{name} has {outside}");
        }
    }
    for inline in ["<script>", "<style", " style=", " onclick=", "javascript:"] {
        assert!(!HTML.contains(inline), "the page has {inline}");
    }
}

#[test]
fn what_a_person_wrote_is_never_read_as_markup() {
    for (name, text) in files() {
        for sink in ["innerHTML", "outerHTML", "insertAdjacentHTML", "document.write", "eval("] {
            assert!(!text.contains(sink), "{name} uses {sink}");
        }
    }
}

/// A colour of a theme; `theme` 0 is the light one, 1 the dark one.
fn colour(name: &str, theme: usize) -> [f64; 3] {
    let text = CSS.split(&format!("--{name}: #")).nth(theme + 1).expect("the colour");
    let channel = |at: usize| u8::from_str_radix(&text[at..at + 2], 16).expect("two hex digits");
    [0, 2, 4].map(|at| f64::from(channel(at)) / 255.0)
}

/// Contrast ratio by WCAG 2.2 ("contrast ratio" and "relative luminance" in its glossary).
fn contrast(one: [f64; 3], other: [f64; 3]) -> f64 {
    let linear = |c: f64| if c <= 0.04045 { c / 12.92 } else { ((c + 0.055) / 1.055).powf(2.4) };
    let luminance =
        |[r, g, b]: [f64; 3]| 0.2126 * linear(r) + 0.7152 * linear(g) + 0.0722 * linear(b);
    let (a, b) = (luminance(one), luminance(other));
    (a.max(b) + 0.05) / (a.min(b) + 0.05)
}

#[test]
fn the_contrast_formula_gives_the_known_values() {
    // Black on white is 21:1 (WCAG 2.2, glossary); #767676 is the lightest grey with 4.5:1 on white.
    assert!((contrast([0.0; 3], [1.0; 3]) - 21.0).abs() < 1e-9);
    let grey = contrast([118.0 / 255.0; 3], [1.0; 3]);
    assert!((4.5..4.6).contains(&grey), "{grey}");
}

#[test]
fn texts_can_be_read_in_both_themes() {
    // 7:1 for texts (WCAG 2.2, 1.4.6), 3:1 for lines and edges that carry meaning (1.4.11).
    let pairs = [
        ("ink", "paper", 7.0),
        ("quiet", "paper", 7.0),
        ("wrong", "paper", 7.0),
        ("bar-ink", "bar", 7.0),
        ("quiet", "water", 4.5),
        ("level", "paper", 7.0),
        ("level", "water", 3.0),
        ("after", "paper", 7.0),
        ("after", "water", 3.0),
        ("ink", "water", 7.0),
        ("edge", "paper", 3.0),
        ("hatch", "paper", 3.0),
        ("focus", "paper", 3.0),
    ];
    for theme in [0, 1] {
        for (one, other, least) in pairs {
            let ratio = contrast(colour(one, theme), colour(other, theme));
            assert!(ratio >= least, "theme {theme}: {one} on {other} is {ratio:.2}:1");
        }
    }
}
