//! Text broken into lines.

use super::font::Font;

/// Breaks a text where its words end, so that no line is wider than `width_pt`. A word that is wider
/// has a line of its own.
pub(super) fn lines(font: &Font, text: &str, size_pt: f32, width_pt: f32) -> Vec<String> {
    let mut lines: Vec<String> = Vec::new();
    let mut line = String::new();
    for word in text.split_whitespace() {
        let longer = if line.is_empty() { word.to_owned() } else { format!("{line} {word}") };
        if !line.is_empty() && font.width(&longer, size_pt) > width_pt {
            lines.push(std::mem::replace(&mut line, word.to_owned()));
        } else {
            line = longer;
        }
    }
    lines.push(line);
    lines
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn words_stay_whole_and_lines_within_their_width() {
        let font = Font::new("R", notosans::REGULAR_TTF).unwrap();
        let text = "limited rotation can be bone or joint as well as muscle";
        let broken = lines(&font, text, 10.0, 90.0);
        assert!(broken.len() > 2);
        assert_eq!(broken.join(" "), text);
        assert!(broken.iter().all(|line| font.width(line, 10.0) <= 90.0), "{broken:?}");
        assert_eq!(lines(&font, "unbreakable", 10.0, 5.0), ["unbreakable"]);
    }
}
