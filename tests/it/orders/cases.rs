//! The floor cases about counts and units, through the API.

use super::Shop;
use serde_json::{Value, json};
use spindlebook_tests::on_both_engines;

on_both_engines! {
    /// E24, E25: 24 and 25 pieces at 6 a load of 48 minutes.
    async fn loads_are_counted_in_loads_and_pieces_in_pieces(engine) {
        let shop = Shop::at(engine).await;
        for (code, quantity, loads, cutting_s, last, empty) in [
            ("SO-24", 24, 4, 3 * 3600 + 12 * 60, 6, 0),
            ("SO-25", 25, 5, 4 * 3600, 1, 5),
        ] {
            let (_, job) = shop.released(code, &shop.machined, quantity).await;
            let shown = shop.job(&job).await;
            assert_eq!(shown["operations"][0]["to_run"], json!({ "pieces_per_load": 6, "loads": loads,
                "pieces_in_last_load": last, "empty_nests_in_last_load": empty, "cutting_s": cutting_s }));
            assert_eq!(shown["expected_good"], quantity, "not as many as there are nests");
        }
    }

    /// E40: 20 wanted, 4 good and 1 lost.
    async fn a_lost_piece_is_missed(engine) {
        let shop = Shop::at(engine).await;
        let (order, job) = shop.released("SO-1", &shop.manual, 20).await;
        shop.makes(&job, 4, 1).await;
        let shown = shop.job(&job).await;
        assert_eq!((&shown["made"], &shown["still_to_make"], &shown["material_shortfall"]), (&json!(4), &json!(16), &json!(1)));
        assert_eq!(shop.line_of(&order).await["material_shortfall"], 1);
        let blank = shop.planner.post(&format!("/v1/jobs/{job}/blanks"), &json!({ "pieces": 1 })).await;
        assert_eq!(blank.expect_status(200).json()["material_shortfall"], 0);
    }

    /// E45: 20 reduced to 12 after 14 good.
    async fn a_reduction_after_release_leaves_surplus(engine) {
        let shop = Shop::at(engine).await;
        let (order, job) = shop.released("SO-1", &shop.manual, 20).await;
        shop.makes(&job, 14, 0).await;
        let path = format!("/v1/orders/{order}/lines/1/change-preview?quantity=12");
        let seen = shop.served.viewer().get(&path).await.expect_status(200).json();
        assert_eq!((&seen["made"], &seen["surplus"], &seen["still_to_make"]), (&json!(14), &json!(2), &json!(0)));
        assert_eq!((&seen["not_wanted"], &seen["refused_by"]), (&json!(6), &Value::Null));
        let line = &shop.changes(&order, 12).await["line"];
        assert_eq!((&line["still_to_make"], &line["surplus"]), (&json!(0), &json!(2)));
        let shown = shop.job(&job).await;
        assert_eq!((&shown["surplus"], &shown["operations"][0]["pieces_to_run"]), (&json!(2), &json!(0)));
        let ledger = shop.served.viewer().get("/v1/ledger?limit=200").await.expect_status(200).text();
        assert!(ledger.contains(r#"\"was\":{\"quantity\":20"#) && ledger.contains(r#"\"now\":{\"quantity\":12"#), "{ledger}");
    }

    /// E46: 10 of 20 shipped, then 30.
    async fn a_raise_keeps_what_is_shipped(engine) {
        let shop = Shop::at(engine).await;
        let (order, job) = shop.released("SO-1", &shop.manual, 20).await;
        shop.makes(&job, 10, 0).await;
        shop.ships(&order, 10).await;
        let shipments = shop.line_of(&order).await["shipments"].clone();
        let line = &shop.changes(&order, 30).await["line"];
        assert_eq!((&line["still_to_make"], &line["shipped"]), (&json!(20), &json!(10)));
        assert_eq!(line["shipments"], shipments, "with its date");
        assert_eq!(shipments, json!([{ "at": super::NOW, "pieces": 10, "job": job }]));
    }

    /// E47: 50 split 30/20, 2 of the 20 lost.
    async fn a_split_loses_neither_pieces_nor_heat(engine) {
        let shop = Shop::at(engine).await;
        let (order, job) = shop.released("SO-1", &shop.manual, 50).await;
        let body = json!({ "quantity": 20, "moved": [{ "operation": 10, "pieces": 20 }] });
        let split = shop.planner.post(&format!("/v1/jobs/{job}/split"), &body).await.expect_status(201);
        let lot = split.string("/id");
        assert_eq!((split.string("/name"), split.string("/parent")), ("SO-1/1-2".to_owned(), job.clone()));
        shop.makes(&job, 30, 0).await;
        shop.makes(&lot, 18, 2).await;
        let (first, second) = (shop.job(&job).await, shop.job(&lot).await);
        let scrapped = &second["operations"][1]["scrapped"];
        assert_eq!((&first["made"], &second["made"], scrapped), (&json!(30), &json!(18), &json!(2)));
        for shown in [&first, &second] {
            assert_eq!(shown["certificate"], "Heat 4482");
        }
        assert_eq!(shop.line_of(&order).await["jobs"], json!([job, lot]));
    }

    /// E49: 107 good of 100, +5 / -0 per cent; without a tolerance 100 may ship.
    async fn the_tolerance_is_the_customers_and_none_by_default(engine) {
        let shop = Shop::at(engine).await;
        let (order, job) = shop.released("SO-1", &shop.manual, 100).await;
        shop.planner.post(&format!("/v1/jobs/{job}/blanks"), &json!({ "pieces": 7 })).await.expect_status(200);
        shop.makes(&job, 107, 0).await;
        let path = format!("/v1/orders/{order}/lines/1/shipments");
        let office = shop.served.front_office();
        let line = shop.line_of(&order).await;
        assert_eq!((&line["may_ship_most"], &line["surplus"]), (&json!(100), &json!(7)));
        let refused = office.post(&path, &json!({ "pieces": 101 })).await;
        refused.expect_field_problem(409, "order.over-tolerance", "/pieces");
        let customer = json!({ "code": "K1", "name": "Pump works", "over_percent": 5, "under_percent": 0 });
        let customer = office.post("/v1/customers", &customer).await.expect_status(201).string("/id");
        let one = format!("/v1/orders/{order}");
        let etag = office.get(&one).await.etag();
        office.put(&one, &etag, &json!({ "customer": customer })).await.expect_status(200);
        let line = shop.line_of(&order).await;
        assert_eq!((&line["may_ship_most"], &line["surplus"]), (&json!(105), &json!(2)));
        let refused = office.post(&path, &json!({ "pieces": 106 })).await;
        refused.expect_field_problem(409, "order.over-tolerance", "/pieces");
        assert_eq!(shop.ships(&order, 105).await["state"], "complete");
    }
}
