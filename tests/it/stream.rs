//! R19, E69: the ledger as it grows, to readers that come and go.

use crate::access::{Access, sign_in};
use futures_util::StreamExt;
use serde_json::json;
use spindlebook::app::{Listening, Service};
use spindlebook::auth::{Auth, AuthSettings, Identity, SigningKey};
use spindlebook::book::{Book, QUEUE_MAX};
use spindlebook::clock::Clock;
use spindlebook::http::limits::LimitSettings;
use spindlebook_domain::role::Role;
use spindlebook_domain::site::{People, SetSitePeople};
use spindlebook_tests::app::TestApp;
use spindlebook_tests::caller::Caller;
use spindlebook_tests::sse::Reader;
use spindlebook_tests::{http_client, on_both_engines, site};
use std::net::TcpListener;
use std::sync::Arc;
use std::time::{Duration, Instant};

/// What each of the eight writers does twice.
const ROUNDS: usize = 10;

/// The machine goes down and up in turn: an entry each.
async fn write(app: &TestApp, machine: &str, count: usize) {
    for _ in 0..count / 2 {
        app.clock.advance_s(1);
        let (down, up) = (json!({ "reason": "tooling" }), json!({}));
        let operator = app.operator();
        operator
            .post(&format!("/v1/machines/{machine}/down"), &down)
            .await
            .expect_status(200);
        app.clock.advance_s(1);
        operator
            .post(&format!("/v1/machines/{machine}/up"), &up)
            .await
            .expect_status(200);
    }
}

async fn machine(app: &TestApp) -> String {
    let added = app
        .planner()
        .post("/v1/machines", &json!({ "code": "M1", "name": "Mill" }))
        .await;
    added.expect_status(201).string("/id")
}

/// Another process on the same database. Its signing key is another one, so it makes tokens of its own.
struct Elsewhere {
    service: Service,
    anonymous: Caller,
    server: actix_web::dev::ServerHandle,
}

impl Elsewhere {
    async fn on(app: &TestApp) -> Self {
        let clock = Arc::clone(&app.clock) as Arc<dyn Clock>;
        let book = Book::open(app.store.clone(), clock, QUEUE_MAX).await.unwrap();
        let auth = Auth::new(book.clone(), &SigningKey::random(), AuthSettings::default()).unwrap();
        let service = Service::new(book, auth, LimitSettings::default(), None);
        let how = Listening {
            workers: Some(1),
            ..Listening::default()
        };
        let bound = service
            .listen(TcpListener::bind("127.0.0.1:0").unwrap(), how)
            .unwrap();
        let anonymous = Caller::anonymous(http_client::new().unwrap(), &format!("http://{}", bound.address));
        let server = bound.server.handle();
        tokio::spawn(bound.server);
        Self {
            service,
            anonymous,
            server,
        }
    }

    fn viewer(&self, app: &TestApp) -> Caller {
        let identity = Identity {
            principal: app.principal(Role::Viewer),
            site: app.site,
            session: None,
            device: None,
        };
        let token = self
            .service
            .auth
            .tokens
            .issue(&identity, "tests", app.clock.now())
            .unwrap();
        self.anonymous.with_token(token)
    }
}

impl Drop for Elsewhere {
    fn drop(&mut self) {
        drop(self.server.stop(false));
    }
}

async fn seqs(reader: &mut Reader, count: usize) -> Vec<u64> {
    let entries = reader.entries(count).await;
    entries
        .iter()
        .map(|entry| entry["seq"].as_u64().unwrap())
        .collect()
}

on_both_engines! {
    async fn what_is_committed_is_heard_as_the_ledger_has_it(engine) {
        let app = TestApp::new(engine).await;
        let machine = machine(&app).await;
        let head = app.seq();
        let mut reader = app.viewer().follow("", None).await;
        let header = |name: &str| reader.response.headers().get(name).map(|value| value.to_str().unwrap().to_owned());
        assert_eq!(header("content-type").as_deref(), Some("text/event-stream"));
        assert_eq!(header("x-accel-buffering").as_deref(), Some("no"));
        write(&app, &machine, 4).await;
        let heard = reader.entries(4).await;
        let page = app.viewer().get(&format!("/v1/ledger?after={head}")).await.expect_status(200).json();
        assert_eq!(json!(heard), page["items"], "what is heard is what is read");
        // From the middle of the ledger, by the query as by the header.
        let mut by_query = app.viewer().follow("?after=0", None).await;
        assert_eq!(seqs(&mut by_query, 3).await, [1, 2, 3]);
        let mut by_header = app.viewer().follow("?after=0", Some(head)).await;
        assert_eq!(seqs(&mut by_header, 4).await, [head + 1, head + 2, head + 3, head + 4]);
        app.viewer().get("/v1/ledger/stream?since=1").await.expect_field_problem(400, "query.invalid", "since");
        let odd = app.viewer().send(reqwest::Method::GET, "/v1/ledger/stream", |request| {
            request.header("Last-Event-ID", "the last one")
        }).await;
        odd.expect_field_problem(400, "header.invalid", "Last-Event-ID");
    }

    async fn a_quiet_stream_gives_a_sign_of_life(engine) {
        let app = TestApp::new(engine).await;
        let mut reader = app.viewer().follow("", None).await;
        let began = Instant::now();
        while reader.parser.comments.is_empty() {
            reader.read().await.unwrap();
        }
        assert!(began.elapsed() < Duration::from_secs(8), "{:?}", began.elapsed());
        assert_eq!(reader.parser.comments, [format!("head {}", app.seq())]);
    }

    /// R19 in a small count: writers, some commands refused, readers cut off at random.
    async fn readers_that_are_cut_off_miss_nothing_and_hear_nothing_twice(engine) {
        let app = Arc::new(TestApp::new(engine).await);
        let (_, machines) = site::add_cell_of(&app.service.book, app.site, 8).await.unwrap();
        let begin = app.seq();
        let writers = machines.into_iter().map(|machine| {
            let app = Arc::clone(&app);
            tokio::spawn(async move {
                let path = format!("/v1/machines/{machine}");
                for round in 0..ROUNDS {
                    app.clock.advance_s(1);
                    app.operator().post(&format!("{path}/down"), &json!({ "reason": "other" })).await.expect_status(200);
                    if round % 3 == 0 {
                        let twice = app.operator().post(&format!("{path}/down"), &json!({ "reason": "other" })).await;
                        twice.expect_problem(409, "machine.already-down");
                    }
                    app.clock.advance_s(1);
                    app.operator().post(&format!("{path}/up"), &json!({})).await.expect_status(200);
                }
            })
        });
        let end = begin + 8 * 2 * ROUNDS as u64;
        let readers = (0..4_u64).map(|number| {
            let app = Arc::clone(&app);
            tokio::spawn(async move {
                let (mut heard, mut cuts, mut last) = (Vec::new(), 0, begin);
                while last < end {
                    // A line that was cut counts until the service notices: as the answer says, it is asked again.
                    let mut reader = app.viewer().follow("", Some(last)).await;
                    while reader.response.status() == 429 {
                        tokio::time::sleep(Duration::from_millis(50)).await;
                        reader = app.viewer().follow("", Some(last)).await;
                    }
                    // Some entries, then the line is cut; the dice are simple and fall alike each time.
                    let stay = 1 + (number * 7 + cuts * 5) % 13;
                    for seq in seqs(&mut reader, usize::try_from(stay.min(end - last)).unwrap()).await {
                        heard.push(seq);
                        last = seq;
                    }
                    cuts += 1;
                }
                assert_eq!(heard, (begin + 1..=end).collect::<Vec<_>>(), "reader {number} after {cuts} cuts");
                cuts
            })
        });
        let (writers, readers): (Vec<_>, Vec<_>) = (writers.collect(), readers.collect());
        for writer in writers {
            writer.await.unwrap();
        }
        for reader in readers {
            assert!(reader.await.unwrap() > 10, "no reader was cut off often");
        }
    }

    async fn another_process_tells_the_same_and_a_new_one_goes_on(engine) {
        let app = TestApp::new(engine).await;
        let machine = machine(&app).await;
        let head = app.seq();
        let elsewhere = Elsewhere::on(&app).await;
        let mut reader = elsewhere.viewer(&app).follow("", None).await;
        write(&app, &machine, 4).await;
        assert_eq!(seqs(&mut reader, 4).await, (head + 1..=head + 4).collect::<Vec<_>>());
        // The process goes; what is written meanwhile is told by the next one.
        drop(reader);
        drop(elsewhere);
        write(&app, &machine, 2).await;
        let next = Elsewhere::on(&app).await;
        let mut reader = next.viewer(&app).follow("", Some(head + 4)).await;
        assert_eq!(seqs(&mut reader, 2).await, [head + 5, head + 6]);
        // Ahead of what has arrived there: the entry is waited for.
        let (viewer, ahead) = (next.viewer(&app), head + 7);
        let following = tokio::spawn(async move { seqs(&mut viewer.follow("", Some(ahead)).await, 1).await });
        tokio::time::sleep(Duration::from_millis(100)).await;
        write(&app, &machine, 2).await;
        assert_eq!(following.await.unwrap(), [head + 8]);
    }

    /// E69: one reset, then on from where it says. A point that the ledger never came to is one too.
    async fn a_reader_that_is_too_far_behind_is_told_once(engine) {
        let app = TestApp::new(engine).await;
        let machine = machine(&app).await;
        let begin = app.seq();
        let fill = (0..10_000).map(|_| {
            let set = SetSitePeople { people: People::default(), expected: None };
            site::submit(&app.service.book, app.site, set)
        });
        let filled: Vec<_> = futures_util::stream::iter(fill).buffer_unordered(512).collect().await;
        assert!(filled.iter().all(Result::is_ok));
        let head = app.seq();
        assert_eq!(head, begin + 10_000);
        let mut near = app.viewer().follow("", Some(begin)).await;
        assert_eq!(seqs(&mut near, 10_000).await, (begin + 1..=head).collect::<Vec<_>>(), "just near enough");
        let reset_of = async |asked: u64| {
            let reset = app.viewer().follow("", Some(asked)).await.next().await.unwrap();
            assert_eq!((reset.kind.as_str(), reset.seq()), ("reset", head));
            assert_eq!(reset.json(), json!({ "seq": head, "asked_after": asked, "kept_entries": 10_000 }));
            reset.seq()
        };
        reset_of(head + 1_000_000).await;
        let mut reader = app.viewer().follow("", Some(begin - 1)).await;
        assert_eq!(reader.next().await.unwrap().kind, "reset");
        // One that was cut off right after it asks with what it was told.
        let mut again = app.viewer().follow("", Some(reset_of(begin - 1).await)).await;
        write(&app, &machine, 2).await;
        assert_eq!(seqs(&mut reader, 2).await, [head + 1, head + 2], "no second reset");
        assert_eq!(seqs(&mut again, 2).await, [head + 1, head + 2]);
    }

    async fn signing_out_disabling_and_time_close_it(engine) {
        let access = Access::on(engine).await;
        let closed = async |mut reader: Reader| {
            let event = reader.next().await.unwrap();
            assert_eq!(event.kind, "closed", "{event:?}");
            let code = event.json()["code"].as_str().unwrap().to_owned();
            assert_eq!(reader.next().await, None, "nothing comes after it");
            code
        };
        let (_, ben) = access.user("ben", &["viewer"]).await;
        let reader = ben.follow("", None).await;
        ben.delete("/v1/session").await.expect_status(204);
        assert_eq!(closed(reader).await, "sign-in.token-invalid");
        ben.get("/v1/ledger/stream").await.expect_problem(401, "sign-in.token-invalid");
        let (id, eva) = access.user("eva", &["viewer"]).await;
        let reader = eva.follow("", None).await;
        let path = format!("/v1/users/{id}");
        let etag = access.etag(&path).await;
        access.admin.patch(&path, &etag, &json!({ "disabled": true })).await.expect_status(200);
        // The entry that disables her is not told to her any more.
        assert_eq!(closed(reader).await, "sign-in.session-ended");
        let (_, tom) = access.user("tom", &["viewer"]).await;
        let reader = tom.follow("", None).await;
        access.clock.advance_s(900 + 60);
        assert_eq!(closed(reader).await, "sign-in.token-invalid");
        sign_in(&access.anonymous, "tom", "tom likes long words").await.get("/v1/ledger/stream").await.expect_status(200);
    }

    async fn whoever_opens_too_many_is_told(engine) {
        let app = TestApp::new(engine).await;
        let mut open = Vec::new();
        for _ in 0..12 {
            open.push(app.viewer().follow("", None).await);
        }
        let refused = app.viewer().get("/v1/ledger/stream").await;
        refused.expect_problem(429, "streams.too-many");
        assert!(refused.header("Retry-After").is_some());
        app.planner().get("/v1/ledger/stream").await.expect_status(200);
    }
}
