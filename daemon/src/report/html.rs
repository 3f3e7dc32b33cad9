//! A report as one file of HTML: nothing is fetched, nothing runs.

use std::fmt::Write;

use super::document::{Block, Document, Table};
use super::gauge::{self, Gauge};

/// How wide the drawing is laid out, points; the page scales it.
const GAUGE_PT: f32 = 520.0;

/// Draws a report.
///
/// # Errors
/// When the drawing of before and after fails.
pub fn html(document: &Document) -> Result<String, String> {
    let mut body = String::new();
    for block in &document.blocks {
        add(&mut body, block)?;
    }
    Ok(format!(
        "<!doctype html>\n<html lang=\"{}\">\n<head>\n<meta charset=\"utf-8\">\n\
         <meta name=\"viewport\" content=\"width=device-width, initial-scale=1\">\n\
         <title>{}</title>\n<style>\n{STYLE}:root {{ --size: {}pt; }}\n</style>\n</head>\n<body>\n<main>\n\
         {body}</main>\n<footer><p>{}</p></footer>\n</body>\n</html>\n",
        document.language,
        escaped(&document.title),
        document.size_pt,
        escaped(&document.foot),
    ))
}

const STYLE: &str = include_str!("report.css");

fn add(to: &mut String, block: &Block) -> Result<(), String> {
    match block {
        Block::Title(title, under) => {
            put(to, &format!("<h1>{}</h1>\n", escaped(title)));
            put(to, &format!("<p class=\"under\">{}</p>\n", escaped(under)));
        }
        Block::Heading(text) => put(to, &format!("<h2>{}</h2>\n", escaped(text))),
        Block::Text(text) => put(to, &format!("<p>{}</p>\n", escaped(text))),
        Block::Strong(text) => put(to, &format!("<p><strong>{}</strong></p>\n", escaped(text))),
        Block::List(items) => {
            put(to, "<ul>\n");
            for item in items {
                put(to, &format!("<li>{}</li>\n", escaped(item)));
            }
            put(to, "</ul>\n");
        }
        Block::Facts(facts) => {
            put(to, "<dl>\n");
            for (name, value) in facts {
                put(to, &format!("<dt>{}</dt><dd>{}</dd>\n", escaped(name), escaped(value)));
            }
            put(to, "</dl>\n");
        }
        Block::Table(of) => table(to, of),
        Block::Gauge(of) => drawing(to, of)?,
        Block::Framed(items) => {
            put(to, "<section class=\"framed\">\n");
            for item in items {
                put(to, &format!("<p>{}</p>\n", escaped(item)));
            }
            put(to, "</section>\n");
        }
        Block::Columns(left, right) => {
            put(to, "<div class=\"columns\">\n");
            for blocks in [left, right] {
                put(to, "<div>\n");
                for block in blocks {
                    add(to, block)?;
                }
                put(to, "</div>\n");
            }
            put(to, "</div>\n");
        }
    }
    Ok(())
}

fn table(to: &mut String, table: &Table) {
    put(to, "<div class=\"wide\"><table>\n<thead><tr>");
    for name in &table.head {
        put(to, &format!("<th scope=\"col\">{}</th>", escaped(name)));
    }
    put(to, "</tr></thead>\n<tbody>\n");
    for row in &table.rows {
        put(to, "<tr>");
        for (place, cell) in row.iter().enumerate() {
            let cell = escaped(cell);
            put(
                to,
                &match place {
                    0 => format!("<th scope=\"row\">{cell}</th>"),
                    _ => format!("<td>{cell}</td>"),
                },
            );
        }
        put(to, "</tr>\n");
    }
    put(to, "</tbody>\n</table></div>\n");
}

/// The drawing, as wide as the page lets it be, with its numbers for those who do not see it.
fn drawing(to: &mut String, of: &Gauge) -> Result<(), String> {
    let svg = gauge::svg(of, GAUGE_PT)?;
    let (head, rest) = svg.split_once('>').unwrap_or(("", &svg));
    let area = head.split("viewBox=\"").nth(1).and_then(|rest| rest.split('"').next());
    let alternative = escaped(&of.alternative);
    put(
        to,
        &format!(
            "<figure><svg role=\"img\" aria-label=\"{alternative}\" viewBox=\"{}\" \
             xmlns=\"http://www.w3.org/2000/svg\">{rest}</figure>\n",
            area.unwrap_or("0 0 1 1")
        ),
    );
    Ok(())
}

fn put(to: &mut String, text: &str) {
    // Writing to a string does not fail.
    to.write_str(text).ok();
}

/// Text that HTML takes as text.
fn escaped(text: &str) -> String {
    text.replace('&', "&amp;").replace('<', "&lt;").replace('>', "&gt;").replace('"', "&quot;")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_was_typed_stays_text() {
        let document = Document {
            language: "en",
            title: "a < b".to_owned(),
            foot: String::new(),
            size_pt: 9.0,
            blocks: vec![Block::Text("<script>alert(\"1\")</script> & more".to_owned())],
        };
        let page = html(&document).unwrap();
        assert!(!page.contains("<script"), "{page}");
        assert!(page.contains("&lt;script&gt;alert(&quot;1&quot;)&lt;/script&gt; &amp; more"));
    }
}
