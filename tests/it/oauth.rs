//! The token endpoint for machine clients. Its answers are those of RFC 6749, sections 5.1 and 5.2.

use crate::access::Access;
use reqwest::Method;
use serde_json::json;
use spindlebook_tests::on_both_engines;
use uuid::Uuid;

const PATH: &str = "/oauth/token";
const GRANT: (&str, &str) = ("grant_type", "client_credentials");

async fn a_client(access: &Access) -> (String, String) {
    let body = json!({"name": "Quoting tool", "roles": ["integration"]});
    let added = access.admin.post("/v1/clients", &body).await.expect_status(201);
    (added.string("/id"), added.string("/client_secret"))
}

on_both_engines! {
    async fn a_client_gets_a_token_by_form_or_header(engine) {
        let access = Access::on(engine).await;
        let (id, secret) = a_client(&access).await;
        let by_form = access.anonymous
            .post_form(PATH, &[GRANT, ("client_id", &id), ("client_secret", &secret)])
            .await
            .expect_status(200);
        assert_eq!((by_form.header("Cache-Control"), by_form.header("Pragma")), (Some("no-store"), Some("no-cache")));
        assert_eq!(by_form.json()["token_type"], "Bearer");
        assert_eq!(by_form.json()["expires_in"], 900);
        assert!(by_form.json().get("refresh_token").is_none(), "section 4.4.3");
        let by_header = access.anonymous
            .send(Method::POST, PATH, |request| request.basic_auth(&id, Some(&secret)).form(&[GRANT]))
            .await
            .expect_status(200);
        let client = access.anonymous.with_token(by_header.string("/access_token"));
        let who = client.get("/v1/session").await.expect_status(200).json();
        assert_eq!((&who["kind"], &who["roles"]), (&json!("client"), &json!(["integration"])));
        client.get("/v1/users").await.expect_problem(403, "role.missing");
    }

    async fn errors_are_those_of_the_rfc(engine) {
        let access = Access::on(engine).await;
        let (id, secret) = a_client(&access).await;
        let nobody = Uuid::now_v7().to_string();
        for (fields, status, error) in [
            (vec![GRANT, ("client_id", &id), ("client_secret", "wrong")], 401, "invalid_client"),
            (vec![GRANT, ("client_id", &nobody), ("client_secret", &secret)], 401, "invalid_client"),
            (vec![GRANT, ("client_id", "abc"), ("client_secret", &secret)], 401, "invalid_client"),
            (vec![GRANT, ("client_id", &access.admin_id), ("client_secret", &secret)], 401, "invalid_client"),
            (vec![GRANT], 401, "invalid_client"),
            (vec![("client_id", &id), ("client_secret", &secret)], 400, "invalid_request"),
            (vec![("grant_type", "password")], 400, "unsupported_grant_type"),
            (vec![GRANT, ("scope", "all"), ("client_id", &id), ("client_secret", &secret)], 400, "invalid_scope"),
        ] {
            let answer = access.anonymous.post_form(PATH, &fields).await.expect_status(status);
            assert_eq!(answer.json()["error"], error, "{fields:?}");
            assert_eq!(answer.header("Content-Type"), Some("application/json"));
            assert_eq!(answer.header("WWW-Authenticate").is_some(), status == 401);
        }
        let json = access.anonymous.post(PATH, &json!({"grant_type": "client_credentials"})).await;
        json.expect_problem(415, "body.media-type-unsupported");
    }

    async fn a_disabled_client_is_out_at_once(engine) {
        let access = Access::on(engine).await;
        let (id, secret) = a_client(&access).await;
        let fields = [GRANT, ("client_id", id.as_str()), ("client_secret", secret.as_str())];
        let token = access.anonymous.post_form(PATH, &fields).await.expect_status(200).string("/access_token");
        let client = access.anonymous.with_token(token);
        client.get("/v1/session").await.expect_status(200);
        access.admin.delete(&format!("/v1/clients/{id}")).await.expect_status(204);
        client.get("/v1/session").await.expect_problem(401, "sign-in.session-ended");
        access.anonymous.post_form(PATH, &fields).await.expect_status(401);
    }

    async fn a_secret_is_shown_once(engine) {
        let access = Access::on(engine).await;
        let body = json!({"name": "Quoting tool", "roles": ["integration"]});
        let key = Uuid::now_v7();
        let first = access.admin.post_with_key("/v1/clients", key, &body).await.expect_status(201);
        let again = access.admin.post_with_key("/v1/clients", key, &body).await.expect_status(201);
        assert_eq!(first.string("/id"), again.string("/id"));
        assert!(again.json().get("client_secret").is_none(), "{}", again.text());
        let shown = access.admin.get(&format!("/v1/clients/{}", first.string("/id"))).await.expect_status(200);
        assert_eq!(shown.string("/name"), "Quoting tool");
        assert!(!shown.text().contains(&first.string("/client_secret")));
        let not_for_clients = json!({"name": "Robot", "roles": ["admin"]});
        let refused = access.admin.post("/v1/clients", &not_for_clients).await;
        refused.expect_field_problem(409, "principal.role-not-for-clients", "/roles");
    }
}
