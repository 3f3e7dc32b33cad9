//! Repetitions and their means as Observations.

use endarc_protocol::words::{Direction, Phase, Side};
use serde_json::{Value, json};

use super::bundle::Context;
use super::concepts::{body_site, measured, phase};
use super::resource::{Entry, degrees, seconds};
use crate::store::records::RepetitionRecord;
use crate::store::rows::RepetitionValue;

/// What ties an Observation to the rest of its bundle.
#[derive(Debug)]
pub(super) struct Ties {
    /// The act of measuring.
    pub(super) act: Value,
    /// The shank sensors, by leg.
    pub(super) sensors: Vec<(Side, Value)>,
}

/// The repetitions that count, each with its Observation.
pub(super) fn repetitions<'a>(
    context: &Context<'a>,
    ties: &Ties,
) -> Vec<(&'a RepetitionRecord, Entry)> {
    let counting = context.visit.repetitions().filter(|one| one.struck_out.is_none());
    counting
        .filter_map(|one| {
            let key = (one.side, one.phase, one.direction);
            let name = format!("{} {}", name(key), one.number);
            let resource = repetition(context, ties, one, one.value()?);
            Some((one, context.entry(&name, resource)))
        })
        .collect()
}

fn name((side, phase, direction): (Side, Phase, Direction)) -> String {
    format!("observation {side} {phase} {direction}")
}

fn repetition(
    context: &Context<'_>,
    ties: &Ties,
    one: &RepetitionRecord,
    value: &RepetitionValue,
) -> Value {
    let codes = context.codes;
    let mut observation = common(context, ties, (one.side, one.phase, one.direction));
    observation["effectiveDateTime"] = json!(context.at(value.end_range_at_s));
    observation["valueQuantity"] = degrees(value.end_range_deg);
    let component = |code: &str, key: &str, value: Value| {
        let mut component = json!({ "code": codes.concept(code) });
        component[key] = value;
        component
    };
    let mut components = vec![
        component("repetition", "valueInteger", json!(one.number)),
        component("phase", "valueCodeableConcept", codes.concept(phase(one.phase))),
        component("uncertainty", "valueQuantity", degrees(value.uncertainty_deg)),
        component("hold", "valueQuantity", seconds(value.hold_s)),
        component("algorithm-version", "valueString", json!(value.algorithm_version)),
    ];
    for (code, angle_deg) in
        [("knee-flexion", value.knee_flexion_deg), ("pelvis-roll", value.pelvis_roll_deg)]
    {
        components.extend(angle_deg.map(|deg| component(code, "valueQuantity", degrees(deg))));
    }
    observation["component"] = json!(components);
    observation
}

/// What a repetition and a mean have in common.
fn common(
    context: &Context<'_>,
    ties: &Ties,
    (side, _, direction): (Side, Phase, Direction),
) -> Value {
    let codes = context.codes;
    let test = context.visit.record.summary.test;
    let mut observation = json!({
        "resourceType": "Observation",
        "extension": [{
            "url": "http://hl7.org/fhir/StructureDefinition/observation-bodyPosition",
            "valueCodeableConcept": codes.concept(test.as_str()),
        }],
        "partOf": [ties.act],
        "status": "final",
        "category": [{
            "coding": [{
                "system": "http://terminology.hl7.org/CodeSystem/observation-category",
                "code": "exam",
                "display": "Exam",
            }],
            "text": "Exam",
        }],
        "code": codes.concept(measured(direction)),
        "subject": context.subject(),
        "bodySite": codes.concept(body_site(side, test)),
        "method": codes.concept("inertial-sensor-shank"),
    });
    if let Some((_, sensor)) = ties.sensors.iter().find(|(own, _)| *own == side) {
        observation["device"] = sensor.clone();
    }
    observation
}

/// The mean of each leg, phase and direction, leaning on its repetitions.
pub(super) fn means(
    context: &Context<'_>,
    ties: &Ties,
    repetitions: &[(&RepetitionRecord, Entry)],
) -> Vec<Entry> {
    let mut keys: Vec<_> =
        repetitions.iter().map(|(one, _)| (one.side, one.phase, one.direction)).collect();
    keys.sort();
    keys.dedup();
    let mean = |key: (Side, Phase, Direction)| {
        let own: Vec<_> = repetitions
            .iter()
            .filter(|(one, _)| (one.side, one.phase, one.direction) == key)
            .collect();
        let resource = mean(context, ties, key, &own)?;
        Some(context.entry(&format!("{} mean", name(key)), resource))
    };
    keys.into_iter().filter_map(mean).collect()
}

fn mean(
    context: &Context<'_>,
    ties: &Ties,
    key: (Side, Phase, Direction),
    own: &[&(&RepetitionRecord, Entry)],
) -> Option<Value> {
    let codes = context.codes;
    let values: Vec<&RepetitionValue> = own.iter().filter_map(|(one, _)| one.value()).collect();
    let count = values.len() as f64;
    let (first, last) = (values.first()?, values.last()?);
    let mean_deg = values.iter().map(|value| value.end_range_deg).sum::<f64>() / count;
    let squares: f64 = values.iter().map(|value| (value.end_range_deg - mean_deg).powi(2)).sum();
    let mut observation = common(context, ties, key);
    let mut code = codes.concept(measured(key.2));
    code["text"] = json!(format!("{}, mean", code["text"].as_str().unwrap_or_default()));
    observation["code"] = code;
    observation["effectivePeriod"] = json!({
        "start": context.at(first.start_s),
        "end": context.at(last.end_range_at_s + last.hold_s),
    });
    observation["valueQuantity"] = degrees(mean_deg);
    observation["derivedFrom"] =
        own.iter().map(|(_, entry)| entry.reference()).collect::<Vec<_>>().into();
    let mut components = vec![
        json!({ "code": codes.concept("n"), "valueInteger": values.len() }),
        json!({ "code": codes.concept("phase"), "valueCodeableConcept": codes.concept(phase(key.1)) }),
    ];
    if values.len() > 1 {
        let sd_deg = (squares / (count - 1.0)).sqrt();
        components.push(json!({ "code": codes.concept("sd"), "valueQuantity": degrees(sd_deg) }));
    }
    observation["component"] = json!(components);
    Some(observation)
}
