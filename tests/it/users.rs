//! Users and machine clients, by HTTP.

use crate::access::{Access, signing_in};
use serde_json::{Value, json};
use spindlebook_tests::on_both_engines;
use uuid::Uuid;

fn anna() -> Value {
    json!({"login": "Anna", "display_name": "Anna Berg", "roles": ["planner", "operator"],
           "password": "a phrase of some length"})
}

on_both_engines! {
    async fn a_user_is_added_once_however_often_it_is_sent(engine) {
        let access = Access::on(engine).await;
        let key = Uuid::now_v7();
        let first = access.admin.post_with_key("/v1/users", key, &anna()).await.expect_status(201);
        let path = first.header("Location").unwrap().to_owned();
        assert_eq!(path, format!("/v1/users/{}", first.string("/id")));
        assert!(!first.text().contains("nna"), "an answer that is kept holds no name: {}", first.text());
        let again = access.admin.post_with_key("/v1/users", key, &anna()).await.expect_status(201);
        assert_eq!((&again.body, again.etag()), (&first.body, first.etag()));
        assert!(again.header("Outcome-First-Given").is_some() && first.header("Outcome-First-Given").is_none());
        let mut other = anna();
        other["roles"] = json!(["viewer"]);
        let reused = access.admin.post_with_key("/v1/users", key, &other).await;
        reused.expect_field_problem(422, "idempotency-key.reused", "Idempotency-Key");
        let shown = access.admin.get(&path).await.expect_status(200);
        assert_eq!(shown.etag(), first.etag());
        assert_eq!(shown.header("Cache-Control"), Some("no-store"));
        assert_eq!((shown.string("/login"), shown.string("/display_name")), ("anna".into(), "Anna Berg".into()));
        let known = shown.etag();
        let unchanged = access.admin
            .send(reqwest::Method::GET, &path, |request| request.header("If-None-Match", known))
            .await;
        assert!(unchanged.expect_status(304).body.is_empty());
    }

    async fn what_is_wrong_with_a_user_is_named_and_nothing_is_added(engine) {
        let access = Access::on(engine).await;
        access.admin.post("/v1/users", &anna()).await.expect_status(201);
        for (member, value, status, code, place) in [
            ("login", json!("ANNA"), 409, "principal.login-taken", "/login"),
            ("login", json!("two words"), 400, "body.invalid", "/login"),
            ("roles", json!([]), 400, "principal.no-roles", "/roles"),
            ("roles", json!(["planner", "planer"]), 400, "body.invalid", "/roles/1"),
            ("roles", json!(["device"]), 409, "principal.role-not-for-persons", "/roles"),
            ("display_name", json!(""), 400, "body.invalid", "/display_name"),
            ("password", json!("short"), 400, "password.weak", "/password"),
            ("password", json!("Gearworks2026"), 400, "password.weak", "/password"),
            ("rolls", json!(1), 400, "body.invalid", "/rolls"),
        ] {
            let mut body = anna();
            body["login"] = json!("ben");
            body[member] = value;
            access.admin.post("/v1/users", &body).await.expect_field_problem(status, code, place);
        }
        let missing = access.admin.post_text("/v1/users", None, &anna().to_string()).await;
        missing.expect_field_problem(400, "idempotency-key.missing", "Idempotency-Key");
        let users = access.admin.get("/v1/users").await.expect_status(200).json();
        assert_eq!(users["items"].as_array().unwrap().len(), 2, "{users}");
    }

    async fn a_change_needs_the_version_it_was_made_on(engine) {
        let access = Access::on(engine).await;
        let (id, _) = access.user("ben", &["operator"]).await;
        let path = format!("/v1/users/{id}");
        let etag = access.etag(&path).await;
        let body = json!({"roles": ["inspector"], "display_name": "Ben Other"});
        let without = access.admin
            .send(reqwest::Method::PATCH, &path, |request| request.json(&body))
            .await;
        without.expect_field_problem(428, "if-match.missing", "If-Match");
        let changed = access.admin.patch(&path, &etag, &body).await.expect_status(200);
        assert_eq!(changed.json()["roles"], json!(["inspector"]));
        let stale = access.admin.patch(&path, &etag, &json!({"roles": ["viewer"]})).await;
        stale.expect_problem(412, "principal.stale");
        assert_eq!(stale.etag(), changed.etag(), "the version to try again with");
        let shown = access.admin.get(&path).await.expect_status(200).json();
        assert_eq!((&shown["roles"], &shown["display_name"]), (&json!(["inspector"]), &json!("Ben Other")));
        let both = json!({"disabled": true, "roles": ["viewer"]});
        access.admin.patch(&path, &changed.etag(), &both).await.expect_field_problem(400, "body.invalid", "/disabled");
        access.admin.patch(&path, &changed.etag(), &json!({})).await.expect_problem(400, "body.invalid");
        let password = format!("{path}/password");
        let new = json!({"password": "a brand new phrase"});
        access.admin.put(&password, &etag, &new).await.expect_problem(412, "principal.stale");
        access.admin.put(&password, &changed.etag(), &new).await.expect_status(204);
    }

    async fn a_password_is_set_once_under_a_key_and_no_other_one_under_the_same(engine) {
        let access = Access::on(engine).await;
        let (id, _) = access.user("ben", &["operator"]).await;
        let etag = access.etag(&format!("/v1/users/{id}")).await;
        let (path, key) = (format!("/v1/users/{id}/password"), Uuid::now_v7().to_string());
        let set = |password: &str| {
            let body = json!({ "password": password });
            let (admin, path, etag, key) = (access.admin.clone(), path.clone(), etag.clone(), key.clone());
            async move {
                admin
                    .send(reqwest::Method::PUT, &path, |request| {
                        request.header("If-Match", etag).header("Idempotency-Key", key).json(&body)
                    })
                    .await
            }
        };
        let first = set("a brand new phrase").await.expect_status(204);
        assert!(first.header("Outcome-First-Given").is_none());
        let again = set("a brand new phrase").await.expect_status(204);
        assert!(again.header("Outcome-First-Given").is_some(), "the first answer, though the version is old by now");
        set("quite another phrase").await.expect_field_problem(422, "idempotency-key.reused", "Idempotency-Key");
        let other = access.anonymous.post("/v1/session", &signing_in("ben", "quite another phrase")).await;
        other.expect_problem(401, "sign-in.refused");
        access.anonymous.post("/v1/session", &signing_in("ben", "a brand new phrase")).await.expect_status(200);
    }

    async fn a_role_that_is_taken_away_is_gone_at_once(engine) {
        let access = Access::on(engine).await;
        let (id, cleo) = access.user("cleo", &["admin"]).await;
        cleo.get("/v1/users").await.expect_status(200);
        let path = format!("/v1/users/{id}");
        let etag = access.etag(&path).await;
        access.admin.patch(&path, &etag, &json!({"roles": ["viewer"]})).await.expect_status(200);
        let refused = cleo.get("/v1/users").await.expect_problem(403, "role.missing");
        assert_eq!(refused["operation"], "listUsers");
        cleo.get("/v1/session").await.expect_status(200);
    }

    async fn somebody_disabled_is_out_at_once_and_stays_signed_out(engine) {
        let access = Access::on(engine).await;
        let (id, ben) = access.user("ben", &["operator"]).await;
        let tokens = access.anonymous.post("/v1/session", &signing_in("ben", "ben likes long words")).await;
        let path = format!("/v1/users/{id}");
        let etag = access.etag(&path).await;
        let disabled = access.admin.patch(&path, &etag, &json!({"disabled": true})).await.expect_status(200);
        assert_eq!(disabled.string("/standing"), "disabled");
        ben.get("/v1/session").await.expect_problem(401, "sign-in.session-ended");
        access.admin.patch(&path, &disabled.etag(), &json!({"disabled": false})).await.expect_status(200);
        let body = json!({"refresh_token": tokens.string("/refresh_token")});
        access.anonymous.post("/v1/session/refresh", &body).await.expect_problem(401, "sign-in.session-ended");
    }

    async fn the_last_admin_stays(engine) {
        let access = Access::on(engine).await;
        let path = format!("/v1/users/{}", access.admin_id);
        let etag = access.etag(&path).await;
        for body in [json!({"disabled": true}), json!({"roles": ["planner"]})] {
            access.admin.patch(&path, &etag, &body).await.expect_problem(409, "principal.last-admin");
        }
        access.admin.post(&format!("{path}/forget"), &json!({})).await.expect_problem(409, "principal.last-admin");
    }

    async fn a_forgotten_user_leaves_no_name_anywhere(engine) {
        let access = Access::on(engine).await;
        let added = access.admin.post("/v1/users", &anna()).await.expect_status(201);
        let path = format!("/v1/users/{}", added.string("/id"));
        let forgotten = access.admin.post(&format!("{path}/forget"), &json!({})).await.expect_status(200);
        assert_eq!(forgotten.string("/standing"), "forgotten");
        let shown = access.admin.get(&path).await.expect_status(200);
        assert!(!shown.text().contains("nna"), "{}", shown.text());
        let in_tables = names_left(&access, "anna").await;
        assert_eq!(in_tables, 0);
        access.admin.post("/v1/users", &anna()).await.expect_status(201);
    }

    async fn users_are_listed_page_by_page(engine) {
        let access = Access::on(engine).await;
        for number in 0..4 {
            access.user(&format!("user{number}"), &["viewer"]).await;
        }
        let (mut seen, mut path) = (Vec::new(), "/v1/users?limit=2".to_owned());
        loop {
            let page = access.admin.get(&path).await.expect_status(200).json();
            seen.extend(page["items"].as_array().unwrap().iter().map(|user| user["id"].to_string()));
            match page["next_cursor"].as_str() {
                Some(cursor) => path = format!("/v1/users?limit=2&cursor={cursor}"),
                None => break,
            }
        }
        assert_eq!(seen.len(), 5);
        assert!(seen.is_sorted());
        access.admin.get("/v1/users?limits=2").await.expect_field_problem(400, "query.invalid", "limits");
    }

    async fn ids_that_are_nobodys_are_not_found(engine) {
        let access = Access::on(engine).await;
        let client = json!({"name": "Quoting tool", "roles": ["integration"]});
        let client = access.admin.post("/v1/clients", &client).await.expect_status(201).string("/id");
        for id in [Uuid::now_v7().to_string(), client] {
            access.admin.get(&format!("/v1/users/{id}")).await.expect_problem(404, "resource.unknown");
        }
        let user = format!("/v1/clients/{}", access.admin_id);
        access.admin.get(&user).await.expect_problem(404, "resource.unknown");
        access.admin.delete(&user).await.expect_problem(404, "resource.unknown");
        access.admin.get("/v1/users/abc").await.expect_field_problem(400, "path.invalid", "id");
    }

    async fn only_admins_keep_users(engine) {
        let access = Access::on(engine).await;
        for role in ["front_office", "planner", "operator", "inspector", "viewer"] {
            let (_, caller) = access.user(&role.replace('_', "."), &[role]).await;
            caller.get("/v1/users").await.expect_problem(403, "role.missing");
            caller.post("/v1/users", &anna()).await.expect_problem(403, "role.missing");
            caller.post("/v1/clients", &json!({"nonsense": 1})).await.expect_problem(403, "role.missing");
        }
        access.anonymous.post("/v1/users", &json!({"nonsense": 1})).await.expect_problem(401, "sign-in.required");
    }
}

/// How many rows of any table of names still hold the text.
async fn names_left(access: &Access, login: &str) -> usize {
    let mut session = access.store.session().await.unwrap();
    let site = spindlebook_store::site::all(&mut session).await.unwrap()[0].id;
    let kind = spindlebook_domain::access::PrincipalKind::Person;
    let accounts = spindlebook_store::account::all(&mut session, site, kind)
        .await
        .unwrap();
    let holds = |text: &Option<String>| {
        text.as_ref()
            .is_some_and(|text| text.to_lowercase().contains(login))
    };
    accounts
        .iter()
        .filter(|row| row.login.contains(login) || holds(&row.display_name))
        .count()
}
