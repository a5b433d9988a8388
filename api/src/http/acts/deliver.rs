use super::aside;
use super::dto::{ActBody, AnsweredActDto, DeliveredDto, DeliveryBody};
use super::judge::{Judged, Unjudged, badge_of, judge};
use super::within::{Within, request_of};
use crate::auth::guard::part;
use crate::auth::{Auth, Caller, Delivered, SiteSeq, op};
use crate::book::{Answer, Book, Decision, PrivateRows, Submission, Submitted};
use crate::http::body::{Body, parse_canonical};
use crate::http::command::headers::fingerprint;
use crate::http::command::{FIRST_GIVEN, new_id};
use crate::http::shown::Shown;
use crate::problem::{Code, FieldError, Place, Problem};
use crate::request_id;
use actix_web::dev::Payload;
use actix_web::http::Method;
use actix_web::web::Data;
use actix_web::{FromRequest, HttpMessage, HttpRequest, post};
use serde_json::Value;
use serde_json::value::RawValue;
use spindlebook_domain::actor::Actor;
use spindlebook_domain::device::{ACTS_MAX, Contact, DeliveredAct, DeviceRefusal, ReportContact};
use spindlebook_domain::ids::{CommandId, PrincipalId, SiteId};
use spindlebook_domain::refusal::Refusal;
use spindlebook_domain::time::Timestamp;
use std::future::{Ready, ready};
use std::rc::Rc;

const RESOURCES_OF_ACTS: [&str; 6] = ["cells", "holds", "jobs", "machines", "pallets", "runs"];

/// When the head of the request was here: its body may take long on its way.
pub struct Received(Timestamp);

impl FromRequest for Received {
    type Error = Problem;
    type Future = Ready<Result<Self, Problem>>;

    fn from_request(request: &HttpRequest, _: &mut Payload) -> Self::Future {
        ready(part::<Book>(request).map(|book| Self(book.now())))
    }
}

/// The road of one delivery.
struct Delivery<'a> {
    site: SiteId,
    device: PrincipalId,
    contact: Contact,
    book: &'a Book,
    auth: &'a Auth,
    within: &'a Within,
}

/// Deliver acts that a tablet kept
///
/// Each is answered as its own operation answers it, in order, and one that is refused keeps none after it from being
/// taken. However often an act is delivered, and however the acts are put together, it counts once and gets the same
/// answer. When it was is put right by what the tablet's clock reads at sending. The person whose badge it carries did
/// it; that person's roles count.
#[utoipa::path(
    operation_id = "deliverActs", tag = "Tablets", request_body = DeliveryBody,
    responses((status = 200, description = "An answer for each act", body = DeliveredDto))
)]
#[post("/v1/acts")]
pub async fn deliver_acts(
    caller: Caller<op::DeliverActs>,
    received: Received,
    body: Body<DeliveryBody>,
    request: HttpRequest,
    auth: Data<Auth>,
    book: Data<Book>,
) -> Result<Shown, Problem> {
    let DeliveryBody { clock, acts } = body.value;
    if acts.len() > ACTS_MAX {
        let (acts, max) = (acts.len(), ACTS_MAX);
        return Err(Refusal::from(DeviceRefusal::TooMany { acts, max }).into());
    }
    let within = request.app_data::<Rc<Within>>();
    let within = within.ok_or_else(|| Problem::fault(&"the application was built without itself"))?;
    let delivery = Delivery {
        site: caller.site,
        device: caller.principal,
        contact: Contact {
            clock: clock.0,
            received_at: received.0,
        },
        book: &book,
        auth: &auth,
        within,
    };
    delivery.keep_contact(&acts).await?;
    let mut items = Vec::with_capacity(acts.len());
    for act in acts {
        // Under an id of its own, which is the same each time: so is what a malformed one is answered.
        items.push(request_id::under(act.key.0, delivery.answer(act)).await?);
    }
    if let Some(shop) = book.shop(caller.site) {
        request.extensions_mut().insert(SiteSeq(shop.seq));
    }
    Shown::new(&DeliveredDto {
        received_at: received.0.into(),
        ahead_ms: delivery.contact.offset_us() / 1_000,
        items,
    })
}

impl Delivery<'_> {
    /// Kept before the acts, so that their entries stand behind it.
    async fn keep_contact(&self, acts: &[ActBody]) -> Result<(), Problem> {
        let key = CommandId(new_id());
        let delivered = acts.iter().map(|act| DeliveredAct {
            key: act.key,
            at: act.at.0,
        });
        let command = ReportContact {
            device: self.device,
            contact: self.contact,
            acts: delivered.collect(),
        };
        let submission = Submission {
            actor: Actor::Client(self.device),
            device: Some(self.device.to_string()),
            key,
            fingerprint: self.auth.fingerprints.of(&[key.0.as_bytes()]),
            occurred_at: None,
            command: command.into(),
            private: PrivateRows::default(),
            answer: Box::new(|decision| {
                Answer::status(match decision {
                    Decision::Accepted { .. } => 204,
                    Decision::Refused { .. } => 409,
                })
            }),
        };
        match self
            .book
            .submit(self.site, submission)
            .await?
            .into_answer()
            .status
        {
            204 => Ok(()),
            // Nothing else is asked of it, and the guard knew the tablet a moment ago.
            _ => Err(Refusal::from(DeviceRefusal::Unknown { device: self.device }).into()),
        }
    }

    async fn answer(&self, act: ActBody) -> Result<AnsweredActDto, Problem> {
        let shop = self.book.shop(self.site).unwrap_or_default();
        let badge = match badge_of(&shop, self.device, act.badge) {
            Ok(badge) => badge,
            Err(problem) => return of_problem(act.key, &problem),
        };
        if let Err(problem) = is_an_acts(&act.path) {
            return of_problem(act.key, &problem);
        }
        match judge(&self.contact, badge, act.at.0) {
            Ok(judged) => self.ask(act, judged).await,
            Err(Unjudged::TimeUnusable) => self.set_aside(act, badge.person).await,
            // It may have been taken before, when the clock was another one or the badge was not yet ended.
            Err(Unjudged::NotBadgedIn(problem)) => match self.answered_before(&act, badge.person).await? {
                Some(before) => Ok(before),
                None => of_problem(act.key, &problem),
            },
        }
    }

    /// Kept under the act's own key: whatever it was answered before, it is answered again.
    async fn set_aside(&self, act: ActBody, person: PrincipalId) -> Result<AnsweredActDto, Problem> {
        let canonical = match parse_canonical::<Value>(act.body.get().as_bytes()) {
            Ok(body) => body.canonical,
            Err(problem) => return of_problem(act.key, &problem),
        };
        let submission = aside::submission(self.site, &act, person, self.device, &self.contact)?;
        let submission = Submission {
            fingerprint: fingerprint(&self.auth.fingerprints, &Method::POST, &act.path, &canonical),
            ..submission
        };
        let (answer, first_given_at) = match self.book.submit(self.site, submission).await {
            Ok(Submitted::First(answer)) => (answer, None),
            Ok(Submitted::Repeat {
                answer,
                first_given_at,
            }) => (answer, Some(first_given_at.to_string())),
            Err(error) => return of_problem(act.key, &error.into()),
        };
        Ok(AnsweredActDto {
            key: act.key,
            status: answer.status,
            first_given_at,
            body: raw(&answer.body)?,
        })
    }

    async fn ask(&self, act: ActBody, judged: Judged) -> Result<AnsweredActDto, Problem> {
        let delivered = Delivered {
            site: self.site,
            device: self.device,
            person: judged.person,
            happened_at: judged.happened_at,
        };
        let request = match request_of(&act.path, act.body.get(), act.key, delivered) {
            Ok(request) => request,
            Err(problem) => return of_problem(act.key, &problem),
        };
        let answer = self.within.ask(request).await?;
        let first_given = answer.headers.get(FIRST_GIVEN).and_then(|at| at.to_str().ok());
        Ok(AnsweredActDto {
            key: act.key,
            status: answer.status.as_u16(),
            first_given_at: first_given.map(str::to_owned),
            body: raw(&answer.body)?,
        })
    }

    async fn answered_before(
        &self,
        act: &ActBody,
        person: PrincipalId,
    ) -> Result<Option<AnsweredActDto>, Problem> {
        let Ok(Body { canonical, .. }) = parse_canonical::<Value>(act.body.get().as_bytes()) else {
            return Ok(None);
        };
        let fingerprint = fingerprint(&self.auth.fingerprints, &Method::POST, &act.path, &canonical);
        let actor = Actor::Person(person);
        let before = self
            .book
            .answered(self.site, actor, act.key, &fingerprint)
            .await?;
        let Some(Submitted::Repeat {
            answer,
            first_given_at,
        }) = before
        else {
            return Ok(None);
        };
        Ok(Some(AnsweredActDto {
            key: act.key,
            status: answer.status,
            first_given_at: Some(first_given_at.to_string()),
            body: raw(&answer.body)?,
        }))
    }
}

/// The guard of the operation has the last word; this keeps out what needs no guard, as signing in.
fn is_an_acts(path: &str) -> Result<(), Problem> {
    let resource = path.strip_prefix("/v1/").and_then(|rest| rest.split('/').next());
    if resource.is_some_and(|resource| RESOURCES_OF_ACTS.contains(&resource)) {
        return Ok(());
    }
    let detail = format!("{path} is no act that a tablet delivers.");
    let field = FieldError::at(
        Place::pointer("/path"),
        Code::OperationNotDelivered.as_str(),
        detail.clone(),
    );
    Err(Problem::new(Code::OperationNotDelivered, detail).with_field(field))
}

fn of_problem(key: CommandId, problem: &Problem) -> Result<AnsweredActDto, Problem> {
    Ok(AnsweredActDto {
        key,
        status: problem.status().as_u16(),
        first_given_at: None,
        body: raw(&problem.body())?,
    })
}

pub fn raw(body: &[u8]) -> Result<Option<Box<RawValue>>, Problem> {
    if body.is_empty() {
        return Ok(None);
    }
    let text = String::from_utf8_lossy(body).into_owned();
    let raw = RawValue::from_string(text).map_err(|error| Problem::fault(&error))?;
    Ok(Some(raw))
}
