//! What the other tests stand on does what it says.

use serde_json::json;
use spindlebook_domain::role::Role;
use spindlebook_tests::app::TestApp;

spindlebook_tests::on_both_engines! {
    async fn a_caller_is_who_it_says_at_the_site_it_says(engine) {
        let app = TestApp::new(engine).await;
        let cell = json!({ "code": "C1", "name": "Pool", "kind": "pool", "load_stations": 1, "stands": 4, "exchange_s": 60 });
        app.anonymous().post("/v1/cells", &cell).await.expect_problem(401, "sign-in.required");
        app.viewer().post("/v1/cells", &cell).await.expect_problem(403, "role.missing");
        let before = app.seq();
        let added = app.planner().post("/v1/cells", &cell).await.expect_status(201);
        assert_eq!(app.seq(), before + 1);
        let path = format!("/v1/cells/{}", added.string("/id"));
        for role in Role::ALL {
            app.with_role(role).get(&path).await.expect_status(200);
            app.from_other_site(role).get(&path).await.expect_problem(404, "cell.unknown");
        }
        app.clock.advance_s(86_400);
        app.viewer().get(&path).await.expect_status(200);
    }
}
