//! All of a visit as one Bundle.

use endarc_protocol::words::{Phase, Side, TrialType};
use jiff::Timestamp;
use serde_json::{Value, json};

use super::CodeMap;
use super::concepts::body_site;
use super::observations::{self, Ties};
use super::resource::{Entry, id};
use crate::export::{Disguise, Leaving, moment, readme};
use crate::store::consents::{ConsentRecord, RESEARCH};
use crate::store::records::{Span, VisitSensor};

/// What every resource of a bundle is made with.
#[derive(Debug, Clone, Copy)]
pub(super) struct Context<'a> {
    pub(super) visit: &'a Leaving,
    pub(super) disguise: &'a Disguise,
    pub(super) codes: &'a CodeMap,
}

impl Context<'_> {
    /// A resource under a name of its own within the visit: its address and id follow from it.
    pub(super) fn entry(&self, name: &str, mut resource: Value) -> Entry {
        let name = format!("{} {name}", self.visit.code);
        let uuid = self.disguise.uuid(&name);
        resource["id"] = json!(id(&uuid));
        Entry { url: format!("urn:uuid:{uuid}"), resource }
    }

    /// A moment of visit time, as it leaves.
    pub(super) fn at(&self, visit_s: f64) -> String {
        let summary = &self.visit.record.summary;
        let time = summary.started.later(visit_s - summary.started_s);
        self.disguise.time(self.visit.inside(), &time)
    }

    fn utc(&self, time: Timestamp) -> String {
        moment::utc(self.disguise.moment(self.visit.inside(), time))
    }

    /// The person, whose address is the same in every bundle of theirs.
    fn person_url(&self) -> String {
        format!("urn:uuid:{}", self.disguise.uuid(&format!("person {}", self.visit.person)))
    }

    pub(super) fn subject(&self) -> Value {
        json!({ "reference": self.person_url() })
    }
}

/// The Bundle of a visit.
pub(super) fn of(
    visit: &Leaving,
    consents: &[ConsentRecord],
    disguise: &Disguise,
    codes: &CodeMap,
) -> Value {
    let context = Context { visit, disguise, codes };
    let program = program(&context);
    let sensors: Vec<(&VisitSensor, Entry)> =
        visit.record.sensors.iter().map(|sensor| (sensor, device(&context, sensor))).collect();
    let act = assessment(&context, &sensors);
    let shanks = sensors
        .iter()
        .filter_map(|(sensor, entry)| Some((sensor.role.side()?, entry.reference())))
        .collect();
    let ties = Ties { act: act.reference(), sensors: shanks };
    let repetitions = observations::repetitions(&context, &ties);
    let means = observations::means(&context, &ties, &repetitions);
    let repetitions: Vec<Entry> = repetitions.into_iter().map(|(_, entry)| entry).collect();
    let provenance = provenance(&context, repetitions.iter().chain(&means), &program);

    let mut entries = vec![person(&context), program];
    entries.extend(sensors.into_iter().map(|(_, entry)| entry));
    entries.push(act);
    entries.extend(treatments(&context));
    entries.extend(repetitions);
    entries.extend(means);
    entries.extend(consents.iter().map(|one| consent(&context, one)));
    entries.extend(provenance);
    json!({
        "resourceType": "Bundle",
        "id": id(&visit.code),
        "type": "collection",
        "entry": entries.into_iter().map(Entry::value).collect::<Vec<_>>(),
    })
}

fn person(context: &Context<'_>) -> Entry {
    let url = context.person_url();
    let resource = json!({
        "resourceType": "Patient",
        "id": id(url.trim_start_matches("urn:uuid:")),
        "identifier": [{
            "use": "secondary",
            "system": context.codes.url("person"),
            "value": context.visit.person,
        }],
    });
    Entry { url, resource }
}

fn program(context: &Context<'_>) -> Entry {
    let resource = json!({
        "resourceType": "Device",
        "status": "active",
        "deviceName": [{ "name": "endarc", "type": "other" }],
        "version": [{
            "type": { "text": "software" },
            "value": context.visit.record.program_version,
        }],
        "note": [{ "text": readme::CAUTION }],
    });
    context.entry("program", resource)
}

fn device(context: &Context<'_>, sensor: &VisitSensor) -> Entry {
    let resource = json!({
        "resourceType": "Device",
        "identifier": [{
            "system": context.codes.url("sensor"),
            "value": context.disguise.sensor(&sensor.address),
        }],
        "status": "active",
        "deviceName": [{
            "name": format!("Inertial sensor, {}", sensor.role.as_str().replace('-', " ")),
            "type": "user-friendly-name",
        }],
    });
    context.entry(&format!("sensor {} {}", sensor.role, sensor.strap_epoch), resource)
}

/// The act of measuring.
fn assessment(context: &Context<'_>, sensors: &[(&VisitSensor, Entry)]) -> Entry {
    let summary = &context.visit.record.summary;
    let ended_s = summary.ended_s.unwrap_or(summary.started_s);
    let mut sites: Vec<Side> =
        context.visit.repetitions().map(|repetition| repetition.side).collect();
    sites.sort_unstable();
    sites.dedup();
    let site = |side: &Side| context.codes.concept(body_site(*side, summary.test));
    let mut resource = json!({
        "resourceType": "Procedure",
        "status": "completed",
        "category": context.codes.concept("assessment"),
        "code": context.codes.concept("passive-rotation-assessment"),
        "subject": context.subject(),
        "performedPeriod": {
            "start": context.at(summary.started_s),
            "end": context.at(ended_s),
        },
    });
    // An array that is there must hold something.
    if !sites.is_empty() {
        resource["bodySite"] = sites.iter().map(site).collect::<Vec<_>>().into();
    }
    if !sensors.is_empty() {
        let used: Vec<Value> = sensors.iter().map(|(_, entry)| entry.reference()).collect();
        resource["usedReference"] = used.into();
    }
    context.entry("assessment", resource)
}

/// What was done between baseline and retest.
fn treatments(context: &Context<'_>) -> Vec<Entry> {
    let is_treatment =
        |span: &&Span| span.trial_type == TrialType::Treatment && span.end_s.is_some();
    let entry = |(number, span): (usize, &Span)| {
        let mut resource = json!({
            "resourceType": "Procedure",
            "status": "completed",
            "code": context.codes.concept("manual-treatment"),
            "subject": context.subject(),
            "performedPeriod": {
                "start": context.at(span.start_s),
                "end": context.at(span.end_s.unwrap_or(span.start_s)),
            },
        });
        if let Some(side) = span.side {
            let site = body_site(side, context.visit.record.summary.test);
            resource["bodySite"] = json!([context.codes.concept(site)]);
        }
        context.entry(&format!("{} {number}", Phase::Treatment), resource)
    };
    context.visit.record.spans.iter().filter(is_treatment).enumerate().map(entry).collect()
}

fn consent(context: &Context<'_>, one: &ConsentRecord) -> Entry {
    let codes = context.codes;
    let (scope, purpose) = if one.purpose == RESEARCH {
        (
            json!({
                "coding": [{
                    "system": "http://terminology.hl7.org/CodeSystem/consentscope",
                    "code": "research",
                    "display": "Research",
                }],
                "text": "Research",
            }),
            Some(json!([{
                "system": "http://terminology.hl7.org/CodeSystem/v3-ActReason",
                "code": "HRESCH",
                "display": "healthcare research",
            }])),
        )
    } else {
        (codes.concept(&format!("consent-{}", id(&one.purpose))), None)
    };
    let mut provision = json!({ "type": if one.given { "permit" } else { "deny" } });
    if let Some(purpose) = purpose {
        provision["purpose"] = purpose;
    }
    let resource = json!({
        "resourceType": "Consent",
        "status": if one.given { "active" } else { "inactive" },
        "scope": scope,
        "category": [codes.concept("consent")],
        "patient": context.subject(),
        "dateTime": context.utc(one.at),
        "policy": [{
            "uri": codes.url(&format!("consent-wording/{}", id(&one.wording_version))),
        }],
        "provision": provision,
    });
    context.entry(&format!("consent {}", one.purpose), resource)
}

/// Who computed it; nothing where there is nothing that was computed.
fn provenance<'a>(
    context: &Context<'_>,
    targets: impl Iterator<Item = &'a Entry>,
    program: &Entry,
) -> Option<Entry> {
    let targets: Vec<Value> = targets.map(Entry::reference).collect();
    let computed = |repetition| crate::store::records::RepetitionRecord::value(repetition);
    let recorded = context.visit.repetitions().filter_map(computed).map(|one| one.computed_at);
    let resource = json!({
        "resourceType": "Provenance",
        "target": targets,
        "recorded": context.utc(recorded.max()?),
        "agent": [{
            "type": {
                "coding": [{
                    "system": "http://terminology.hl7.org/CodeSystem/provenance-participant-type",
                    "code": "assembler",
                    "display": "Assembler",
                }],
                "text": "Assembler",
            },
            "who": program.reference(),
        }],
    });
    (!targets.is_empty()).then(|| context.entry("provenance", resource))
}
