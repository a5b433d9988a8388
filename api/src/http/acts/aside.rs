//! Acts whose time cannot be: kept as they came, until somebody says when they were.

use super::dto::ActBody;
use crate::book::{Answer, Decision, PrivateRows, Submission};
use crate::http::command::new_id;
use crate::problem::Problem;
use serde::{Deserialize, Serialize};
use serde_json::json;
use serde_json::value::RawValue;
use spindlebook_domain::actor::Actor;
use spindlebook_domain::device::{ActSetAside, Contact, SetActAside};
use spindlebook_domain::ids::{PrincipalId, SiteId, TextId};
use spindlebook_domain::note::NoteRef;
use spindlebook_store::private::PrivateText;

/// What was tapped, as it lies beside the ledger.
#[derive(Debug, Serialize, Deserialize)]
pub struct Request {
    pub path: String,
    pub body: Box<RawValue>,
}

/// Without its fingerprint.
pub fn submission(
    site: SiteId,
    act: &ActBody,
    person: PrincipalId,
    device: PrincipalId,
    contact: &Contact,
) -> Result<Submission, Problem> {
    let request = Request {
        path: act.path.clone(),
        body: act.body.clone(),
    };
    let text = serde_json::to_string(&request).map_err(|error| Problem::fault(&error))?;
    let (id, salt) = (TextId(new_id()), rand::random());
    let key = act.key;
    tracing::info!(target: "audit", %site, %device, %person, act = %key, "an act was set aside: its time cannot be");
    Ok(Submission {
        actor: Actor::Person(person),
        device: Some(device.to_string()),
        key,
        fingerprint: [0; 32],
        occurred_at: None,
        command: SetActAside {
            act: ActSetAside {
                key,
                device,
                person,
                device_time: act.at.0,
                received_at: contact.received_at,
                request: NoteRef::new(id, &salt, &text),
            },
        }
        .into(),
        private: PrivateRows {
            texts: vec![PrivateText {
                id,
                salt,
                body: Some(text),
                forgotten_at: None,
            }],
            account: None,
        },
        answer: Box::new(move |decision| answer(decision, &json!({ "set_aside": key }).to_string())),
    })
}

fn answer(decision: &Decision<'_>, kept: &str) -> Answer {
    match decision {
        Decision::Accepted { .. } => Answer {
            body: kept.as_bytes().to_vec(),
            ..Answer::status(202)
        },
        Decision::Refused { refusal, .. } => {
            let problem = Problem::from(*refusal);
            Answer {
                body: problem.body(),
                ..Answer::status(problem.status().as_u16())
            }
        }
    }
}
