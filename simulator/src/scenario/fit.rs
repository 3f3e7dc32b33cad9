//! Whether the script and the sensors fit the test.

use endarc_protocol::words::{Direction, SensorRole, TestKind};

use super::{File, ScenarioError, Source, Step, Style};

/// Fills in what a step leaves to the test.
pub(super) fn settle(file: &mut File) {
    let test = file.test;
    for step in &mut file.script {
        if let Step::Baseline(measure) | Step::Retest(measure) = step.as_mut()
            && measure.directions.is_empty()
        {
            measure.directions = test.directions().to_vec();
        }
    }
}

/// Refuses what the test does not do.
pub(super) fn check(source: &Source<'_>, file: &File) -> Result<(), ScenarioError> {
    for spanned in &file.script {
        if let Some(problem) = misfit(spanned.as_ref(), file.test) {
            return Err(source.error(spanned.span(), spanned.as_ref().name(), problem));
        }
    }
    let worn = |role| file.sensors.iter().any(|sensor| sensor.as_ref().role == role);
    if file.exchanged && !(worn(SensorRole::LeftShank) && worn(SensorRole::RightShank)) {
        let problem = "only one shank wears a sensor: add the other, or leave it out".to_owned();
        return Err(source.error(0..0, "exchanged", problem));
    }
    Ok(())
}

fn misfit(step: &Step, test: TestKind) -> Option<String> {
    match step {
        Step::Baseline(measure) | Step::Retest(measure) => {
            let measured = test.directions();
            if let Some(other) = measure.directions.iter().find(|one| !measured.contains(one)) {
                return Some(format!(
                    "{test} does not measure {other}: name {}, or leave directions out",
                    listed(measured.iter().map(|one| one.as_str()))
                ));
            }
            if test == TestKind::ProneBothHipsRotation && measure.side.is_some() {
                return Some(format!("{test} measures both legs at once: leave the side out"));
            }
            let styles = styles(test)?;
            let strange = measure.styles.iter().any(|style| !styles.contains(style));
            strange.then(|| {
                let names = styles.iter().map(|style| match style {
                    Style::Touch => "\"touch\"",
                    _ => "\"held\"",
                });
                format!("{test} has the styles {}", listed(names))
            })
        }
        Step::Treatment(treatment) => {
            let bends = treatment.direction == Direction::Flexion;
            (bends != (test == TestKind::ProneKneeBend)).then(|| {
                let towards = if bends { "internal or external" } else { "flexion" };
                format!("{test} works towards {towards}: set the direction")
            })
        }
        _ => None,
    }
}

/// The styles of a test that does not have all of them.
const fn styles(test: TestKind) -> Option<&'static [Style]> {
    match test {
        TestKind::ProneBothHipsRotation => Some(&[Style::Held]),
        TestKind::ProneKneeBend => Some(&[Style::Held, Style::Touch]),
        _ => None,
    }
}

fn listed<'a>(words: impl Iterator<Item = &'a str>) -> String {
    words.collect::<Vec<_>>().join(", ")
}

#[cfg(test)]
mod tests {
    use crate::Scenario;

    fn parse(keys: &str, script: &str) -> Result<Scenario, String> {
        let text = format!("{keys}\nscript = [{script}]\n[[sensors]]\nrole = \"left-shank\"\n");
        Scenario::parse("s.toml", &text).map_err(|error| error.to_string())
    }

    #[test]
    fn a_script_that_does_not_fit_its_test_is_refused_with_the_remedy() {
        for (test, step, remedy) in [
            ("prone-knee-bend", r#"baseline = { directions = ["internal"] }"#, "name flexion"),
            ("seated-hip-rotation", r#"retest = { directions = ["flexion"] }"#, "name internal, "),
            ("prone-both-hips-rotation", r#"baseline = { side = "left" }"#, "leave the side out"),
            ("prone-both-hips-rotation", r#"baseline = { styles = ["slow"] }"#, "\"held\""),
            ("prone-knee-bend", r#"baseline = { styles = ["deeper"] }"#, "\"held\", \"touch\""),
            ("prone-knee-bend", "treatment = {}", "works towards flexion"),
            ("prone-hip-rotation", r#"treatment = { direction = "flexion" }"#, "internal or"),
        ] {
            let message = parse(&format!("test = \"{test}\""), &format!("{{ {step} }}"));
            let message = message.unwrap_err();
            assert!(message.contains("line 2") && message.contains(remedy), "{message}");
        }
    }

    #[test]
    fn a_test_measures_its_own_directions_unless_told() {
        for (test, repetitions) in [("prone-knee-bend", 3), ("seated-hip-rotation", 6)] {
            let scenario = parse(&format!("test = \"{test}\""), "{ baseline = {} }").unwrap();
            assert_eq!(crate::Session::new(&scenario).truth().repetitions.len(), repetitions);
        }
    }

    #[test]
    fn sensors_are_exchanged_only_for_one_another() {
        let message = parse("exchanged = true", "{ baseline = {} }").unwrap_err();
        assert!(message.contains("exchanged: only one shank wears a sensor"), "{message}");
    }
}
