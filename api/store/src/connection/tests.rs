use super::*;
use uuid::Uuid;

/// As on a full disk: the pool's connections may not take one page more. Those that are opened later may.
async fn full(pool: &SqlitePool) {
    let mut all = Vec::new();
    for _ in 0..pool.options().get_max_connections() {
        let mut connection = pool.acquire().await.unwrap();
        sqlx::query("PRAGMA max_page_count = 1")
            .execute(&mut *connection)
            .await
            .unwrap();
        all.push(connection);
    }
}

async fn fill(transaction: &mut Transaction) -> Result<(), sqlx::Error> {
    let Connection::Sqlite(connection) = transaction.connection() else {
        panic!("opened as SQLite");
    };
    let insert = sqlx::query("INSERT INTO ballast VALUES (zeroblob(1000000))");
    insert.execute(connection).await.map(drop)
}

// SQLite, "Result and Error Codes": after SQLITE_FULL the transaction may have been rolled back already.
#[tokio::test]
async fn a_full_disk_takes_no_connection_out_of_service() {
    let file = std::env::temp_dir().join(format!("spindlebook-full-{}.sqlite", Uuid::new_v4()));
    let store = Store::open(&format!("sqlite:{}", file.display()), 2)
        .await
        .unwrap();
    let Pool::Sqlite(pool, _) = &store.pool else {
        panic!("opened as SQLite");
    };
    sqlx::query("CREATE TABLE ballast (bytes BLOB)")
        .execute(pool)
        .await
        .unwrap();
    full(pool).await;
    let mut refused = 0;
    for _ in 0..10 {
        let mut transaction = store.begin().await.unwrap();
        match fill(&mut transaction).await {
            Ok(()) => transaction.commit().await.unwrap(),
            Err(error) => {
                refused += 1;
                assert!(matches!(failed_commit(error), StoreError::Full(_)));
            }
        }
    }
    assert!((1..=2).contains(&refused), "{refused} were refused");
    let lost = failed_commit(sqlx::Error::WorkerCrashed);
    assert!(matches!(lost, StoreError::CommitUnknown(_)), "{lost:?}");
    store.close().await;
    std::fs::remove_file(file).unwrap();
}
