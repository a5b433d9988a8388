use super::small_cell::SmallCell;
use serde_json::json;
use spindlebook_tests::on_both_engines;

on_both_engines! {
    async fn day_one_is_taken_whole_or_not_at_all(engine) {
        let small = SmallCell::new(engine).await;
        let planner = small.served.planner();
        let path = "/v1/opening-statement";
        let setup = json!({ "fixture": small.fixture, "copy": small.copy });
        let standing = |pallet: usize, kind: &str, setup: serde_json::Value| {
            json!({ "pallet": small.pallets[pallet], "position": { "kind": kind, "number": 1 }, "setup": setup })
        };
        let before = small.served.seq();
        let twice = json!({ "pallets": [standing(0, "stand", setup.clone()), standing(1, "load_station", setup.clone())] });
        planner.post(path, &twice).await.expect_field_problem(409, "opening.copy-in-use", "/pallets/1/setup/copy");
        assert_eq!(small.served.seq(), before, "nothing of it was taken");
        // The two have changed places since they were entered.
        let right = json!({ "pallets": [standing(0, "stand", json!(null)), standing(1, "load_station", setup)] });
        let taken = planner.post(path, &right).await.expect_status(200).json();
        assert_eq!((&taken["pallets"], &taken["seq"]), (&json!(2), &json!(before + 1)));
        let line = small.line(1).await;
        assert_eq!((&line["copy_code"], &line["nests_empty"]), (&json!("F7-1"), &json!(8)));
        planner.post(path, &right).await.expect_field_problem(409, "opening.pallet-acted", "/pallets/0/pallet");
        small.operator().post(path, &right).await.expect_problem(403, "role.missing");
    }
}
