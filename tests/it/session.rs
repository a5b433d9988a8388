//! Signing in, refreshing and signing out, by HTTP.

use crate::access::{ADMIN_PASSWORD, Access, sign_in, signing_in};
use sea_orm::{ConnectOptions, ConnectionTrait, Database, Statement};
use serde_json::json;
use spindlebook::auth::ThrottleSettings;
use spindlebook::clock::Clock;
use spindlebook_domain::ids::SiteId;
use spindlebook_store::private::{AccountChange, change_account};
use spindlebook_store::session::{self, RefreshToken, Used};
use spindlebook_store::{Store, site};
use spindlebook_tests::engine::{Engine, Storage};
use spindlebook_tests::on_both_engines;
use std::time::Duration;
use uuid::Uuid;

async fn the_site(store: &Store) -> SiteId {
    site::all(&mut store.session().await.unwrap()).await.unwrap()[0].id
}

on_both_engines! {
    async fn signing_in_tells_who_one_is(engine) {
        let access = Access::on(engine).await;
        let body = json!({"site": "NORTH", "login": "Admin", "password": ADMIN_PASSWORD});
        let answer = access.anonymous.post("/v1/session", &body).await.expect_status(200);
        assert_eq!(answer.header("Cache-Control"), Some("no-store"));
        let session = answer.json();
        assert_eq!((&session["token_type"], &session["expires_in_s"]), (&json!("Bearer"), &json!(900)));
        assert_eq!(session["principal"]["roles"], json!(["admin"]));
        assert_eq!(session["principal"]["site"]["code"], "north");
        let who = access.admin.get("/v1/session").await.expect_status(200);
        assert_eq!(who.json(), session["principal"]);
        assert!(who.header("X-Site-Seq").is_some());
        assert!(who.header("x-request-id").is_some());
    }

    async fn everybody_who_is_not_let_in_hears_the_same(engine) {
        let access = Access::on(engine).await;
        let (id, ben) = access.user("ben", &["operator"]).await;
        let path = format!("/v1/users/{id}");
        let etag = access.etag(&path).await;
        access.admin.patch(&path, &etag, &json!({"disabled": true})).await.expect_status(200);
        let mut said = Vec::new();
        for body in [
            signing_in("admin", "wrong password"),
            signing_in("nobody", ADMIN_PASSWORD),
            signing_in("ben", "ben likes long words"),
            signing_in("", ""),
            json!({"site": "south", "login": "admin", "password": ADMIN_PASSWORD}),
        ] {
            let mut problem = access.anonymous.post("/v1/session", &body).await.expect_problem(401, "sign-in.refused");
            problem.as_object_mut().unwrap().remove("instance");
            said.push(problem);
        }
        assert!(said.iter().all(|problem| *problem == said[0]), "{said:?}");
        ben.get("/v1/session").await.expect_problem(401, "sign-in.session-ended");
    }

    async fn guessing_is_slowed_down(engine) {
        let throttle = ThrottleSettings { login_burst: 4, ..ThrottleSettings::default() };
        let access = Access::with(engine, throttle).await;
        for _ in 0..3 {
            let wrong = access.anonymous.post("/v1/session", &signing_in("admin", "a guess at it")).await;
            wrong.expect_problem(401, "sign-in.refused");
        }
        // Also for whoever has guessed right in the end.
        let late = access.anonymous.post("/v1/session", &signing_in("admin", ADMIN_PASSWORD)).await;
        late.expect_problem(429, "sign-in.too-many");
        assert!(late.header("Retry-After").unwrap().parse::<u64>().unwrap() >= 1);
    }

    async fn a_refresh_token_is_good_once_and_its_copy_ends_the_session(engine) {
        let access = Access::on(engine).await;
        let first = access.anonymous.post("/v1/session", &signing_in("admin", ADMIN_PASSWORD)).await.expect_status(200);
        let refresh = |token: String| {
            let anonymous = access.anonymous.clone();
            async move { anonymous.post("/v1/session/refresh", &json!({"refresh_token": token})).await }
        };
        let second = refresh(first.string("/refresh_token")).await.expect_status(200);
        assert_ne!(second.string("/refresh_token"), first.string("/refresh_token"));
        let still_in = access.anonymous.with_token(second.string("/access_token"));
        still_in.get("/v1/session").await.expect_status(200);
        refresh(first.string("/refresh_token")).await.expect_problem(401, "sign-in.session-ended");
        refresh(second.string("/refresh_token")).await.expect_problem(401, "sign-in.session-ended");
        still_in.get("/v1/session").await.expect_problem(401, "sign-in.token-invalid");
        access.admin.get("/v1/session").await.expect_status(200);
    }

    async fn signing_out_ends_the_session_and_no_other(engine) {
        let access = Access::on(engine).await;
        let tokens = access.anonymous.post("/v1/session", &signing_in("admin", ADMIN_PASSWORD)).await.expect_status(200);
        let other = access.anonymous.with_token(tokens.string("/access_token"));
        other.delete("/v1/session").await.expect_status(204);
        other.get("/v1/session").await.expect_problem(401, "sign-in.token-invalid");
        let body = json!({"refresh_token": tokens.string("/refresh_token")});
        access.anonymous.post("/v1/session/refresh", &body).await.expect_problem(401, "sign-in.session-ended");
        access.admin.get("/v1/session").await.expect_status(200);
    }

    async fn tokens_and_sessions_expire(engine) {
        let access = Access::on(engine).await;
        let tokens = access.anonymous.post("/v1/session", &signing_in("admin", ADMIN_PASSWORD)).await.expect_status(200);
        access.clock.advance_s(900 + 60);
        access.admin.get("/v1/session").await.expect_problem(401, "sign-in.token-invalid");
        let body = json!({"refresh_token": tokens.string("/refresh_token")});
        let next = access.anonymous.post("/v1/session/refresh", &body).await.expect_status(200);
        access.clock.advance_s(21 * 86_400 + 1);
        let body = json!({"refresh_token": next.string("/refresh_token")});
        access.anonymous.post("/v1/session/refresh", &body).await.expect_problem(401, "sign-in.session-ended");
    }

    async fn changing_ones_password_asks_for_the_current_one_and_ends_every_session(engine) {
        let access = Access::on(engine).await;
        let (_, ben) = access.user("ben", &["operator"]).await;
        let change = |current: &str, new: &str| json!({"current_password": current, "password": new});
        let path = "/v1/session/password";
        let wrong = ben.post(path, &change("not it at all", "another long phrase")).await;
        wrong.expect_field_problem(409, "password.wrong", "/current_password");
        let weak = ben.post(path, &change("ben likes long words", "Password1")).await;
        weak.expect_field_problem(400, "password.weak", "/password");
        ben.post(path, &change("ben likes long words", "another long phrase")).await.expect_status(204);
        ben.get("/v1/session").await.expect_problem(401, "sign-in.token-invalid");
        let old = access.anonymous.post("/v1/session", &signing_in("ben", "ben likes long words")).await;
        old.expect_problem(401, "sign-in.refused");
        sign_in(&access.anonymous, "ben", "another long phrase").await.get("/v1/session").await.expect_status(200);
    }

    async fn a_change_of_ones_password_sent_again_gets_its_first_answer(engine) {
        let access = Access::on(engine).await;
        let (_, ben) = access.user("ben", &["operator"]).await;
        let change = |current: &str, new: &str| json!({"current_password": current, "password": new});
        let (path, key) = ("/v1/session/password", Uuid::now_v7());
        let body = change("ben likes long words", "another long phrase");
        ben.post_with_key(path, key, &body).await.expect_status(204);
        let ben = sign_in(&access.anonymous, "ben", "another long phrase").await;
        let seq = ben.get("/v1/session").await.header("X-Site-Seq").map(str::to_owned);
        let again = ben.post_with_key(path, key, &body).await.expect_status(204);
        assert!(again.header("Outcome-First-Given").is_some());
        let still_in = ben.get("/v1/session").await.expect_status(200);
        assert_eq!(still_in.header("X-Site-Seq").map(str::to_owned), seq, "nothing happened a second time");
        // Under the same key, what is not the same request is judged as any other, and so is everybody else.
        let guess = ben.post_with_key(path, key, &change("ben likes long words", "yet another phrase")).await;
        guess.expect_field_problem(409, "password.wrong", "/current_password");
        let other = access.admin.post_with_key(path, key, &body).await;
        other.expect_field_problem(409, "password.wrong", "/current_password");
        let reused = ben.post_with_key(path, key, &change("another long phrase", "yet another phrase")).await;
        reused.expect_problem(422, "idempotency-key.reused");
    }

    /// Plans as for a table of any size: PostgreSQL would read a small one from end to end.
    async fn refresh_tokens_are_found_by_an_index(engine) {
        let storage = Storage::new(engine).await.unwrap();
        let mut options = ConnectOptions::new(&storage.url);
        options.max_connections(1);
        let raw = Database::connect(options).await.unwrap();
        let backend = raw.get_database_backend();
        if engine == Engine::Postgres {
            raw.execute_unprepared("SET enable_seqscan = off").await.unwrap();
            raw.execute_unprepared("SET plan_cache_mode = force_generic_plan").await.unwrap();
        }
        for (number, (sql, index)) in (0..).zip(session::LOOKUPS) {
            let (explain, column, index) = match engine {
                Engine::Sqlite => {
                    let own_key = "sqlite_autoindex_refresh_token_1";
                    let index = if index == "refresh_token_pkey" { own_key } else { index };
                    (format!("EXPLAIN QUERY PLAN {sql}"), "detail", index)
                }
                Engine::Postgres => {
                    raw.execute_unprepared(&format!("PREPARE lookup_{number} AS {sql}")).await.unwrap();
                    let places = (1..=3).filter(|place| sql.contains(&format!("${place}"))).count();
                    (format!("EXPLAIN EXECUTE lookup_{number}({})", vec!["NULL"; places].join(", ")), "QUERY PLAN", index)
                }
            };
            let rows = raw.query_all_raw(Statement::from_string(backend, explain)).await.unwrap();
            let plan: Vec<String> = rows.iter().map(|row| row.try_get("", column).unwrap()).collect();
            let plan = plan.join(" / ");
            assert!(plan.contains(index), "{sql}: {plan}");
            assert!(!plan.contains("Seq Scan") && !plan.contains("SCAN refresh"), "{sql}: {plan}");
        }
    }

    async fn no_session_begins_with_a_password_that_is_being_changed(engine) {
        let access = Access::on(engine).await;
        let (id, _) = access.user("ben", &["operator"]).await;
        let (site, id) = (the_site(&access.store).await, id.parse().unwrap());
        let (at, secret_hash) = (access.clock.now(), "another one".to_owned());
        let mut change = access.store.begin().await.unwrap();
        let set = AccountChange::SetSecret { id, secret_hash, at };
        change_account(&mut change, site, &set).await.unwrap();
        let anonymous = access.anonymous.clone();
        let signing = tokio::spawn(async move {
            anonymous.post("/v1/session", &signing_in("ben", "ben likes long words")).await
        });
        // Time to read the account as it was, and to check the password.
        tokio::time::sleep(Duration::from_millis(700)).await;
        change.commit().await.unwrap();
        signing.await.unwrap().expect_problem(401, "sign-in.refused");
    }

    async fn what_a_refresh_under_way_leaves_ends_with_the_rest(engine) {
        let access = Access::on(engine).await;
        let (id, _) = access.user("ben", &["operator"]).await;
        let (site, account) = (the_site(&access.store).await, id.parse().unwrap());
        let issued_at = access.clock.now();
        for (number, is_all) in [(1, true), (3, false)] {
            let first = RefreshToken {
                hash: [number; 32],
                family: Uuid::now_v7(),
                account,
                site,
                issued_at,
                expires_at: issued_at.plus_s(3_600),
            };
            let next = RefreshToken { hash: [number + 1; 32], ..first };
            let mut before = access.store.begin().await.unwrap();
            session::insert(&mut before, &first).await.unwrap();
            before.commit().await.unwrap();
            let mut refresh = access.store.begin().await.unwrap();
            let used = session::use_once(&mut refresh, &first.hash, issued_at).await.unwrap();
            assert_eq!(used, Used::Once(first));
            session::insert(&mut refresh, &next).await.unwrap();
            let store = access.store.clone();
            let ending = tokio::spawn(async move {
                let mut end = store.begin().await.unwrap();
                if is_all {
                    let out = AccountChange::SignOut { id: account, at: issued_at };
                    change_account(&mut end, site, &out).await.unwrap();
                } else {
                    session::revoke_family(&mut end, first.family, issued_at).await.unwrap();
                }
                end.commit().await.unwrap();
            });
            tokio::time::sleep(Duration::from_millis(500)).await;
            refresh.commit().await.unwrap();
            ending.await.unwrap();
            let mut later = access.store.begin().await.unwrap();
            let used = session::use_once(&mut later, &next.hash, issued_at).await.unwrap();
            assert_eq!(used, Used::NotValid, "all of the account: {is_all}");
        }
    }

    async fn what_is_wrong_with_a_request_is_named(engine) {
        let access = Access::on(engine).await;
        let post = |text: &'static str| access.anonymous.post_text("/v1/session", None, text);
        post("{\"login\":").await.expect_problem(400, "body.malformed");
        post("{\"login\":\"a\",\"pasword\":\"b\"}").await.expect_field_problem(400, "body.invalid", "/pasword");
        post("{\"login\":\"a\"}").await.expect_field_problem(400, "body.invalid", "/password");
        let none = access.anonymous.get("/v1/session").await;
        none.expect_problem(401, "sign-in.required");
        assert!(none.header("WWW-Authenticate").unwrap().starts_with("Bearer"));
        let forged = access.anonymous.with_token("a.b.c").get("/v1/session").await;
        forged.expect_problem(401, "sign-in.token-invalid");
        assert!(forged.header("WWW-Authenticate").unwrap().contains("invalid_token"));
        let wrong_method = access.anonymous.send(reqwest::Method::PUT, "/v1/session", |request| request).await;
        wrong_method.expect_problem(405, "method.not-allowed");
        let allowed = wrong_method.header("Allow").unwrap();
        assert!(["GET", "POST", "DELETE"].iter().all(|method| allowed.contains(method)), "{allowed}");
        access.anonymous.get("/v1/sessions").await.expect_problem(404, "route.unknown");
        let text = access.anonymous.send(reqwest::Method::POST, "/v1/session", |request| request.body("login=a")).await;
        text.expect_problem(415, "body.media-type-unsupported");
        let large = format!("{{\"login\":\"{}\"}}", "a".repeat(1 << 20));
        access.anonymous.post_text("/v1/session", None, &large).await.expect_problem(413, "body.too-large");
    }
}
