use sea_orm::{ConnectionTrait, Database, Statement};
use sea_orm_migration::MigratorTrait;
use spindlebook_migrations::Migrator;
use spindlebook_tests::engine::{Engine, Storage};
use spindlebook_tests::on_both_engines;

/// What there is, by kind and name, with the SQL of it where the engine keeps that.
async fn schema(database: &sea_orm::DatabaseConnection, engine: Engine) -> Vec<String> {
    let sql = match engine {
        Engine::Sqlite => {
            "SELECT type || ' ' || name || ' ' || coalesce(sql, '') AS line FROM sqlite_master ORDER BY 1"
        }
        Engine::Postgres => {
            "SELECT 'column ' || table_name || '.' || column_name || ' ' || data_type || ' ' || is_nullable AS line \
             FROM information_schema.columns WHERE table_schema = 'public' \
             UNION ALL SELECT 'index ' || indexdef FROM pg_indexes WHERE schemaname = 'public' \
             UNION ALL SELECT 'trigger ' || pg_get_triggerdef(oid) || tgenabled::text FROM pg_trigger WHERE NOT tgisinternal \
             UNION ALL SELECT 'function ' || proname FROM pg_proc WHERE pronamespace = 'public'::regnamespace \
             ORDER BY 1"
        }
    };
    let rows = database
        .query_all_raw(Statement::from_string(database.get_database_backend(), sql))
        .await
        .unwrap();
    rows.iter()
        .map(|row| row.try_get::<String>("", "line").unwrap())
        .collect()
}

on_both_engines! {
    async fn up_down_and_up_again_gives_the_same_schema(engine) {
        let storage = Storage::new(engine).await.unwrap();
        let database = Database::connect(&storage.url).await.unwrap();
        let first = schema(&database, engine).await;
        assert!(first.len() > 30);
        Migrator::down(&database, None).await.unwrap();
        let none = schema(&database, engine).await;
        assert!(none.iter().all(|line| line.contains("seaql_migrations")), "{none:?}");
        Migrator::up(&database, None).await.unwrap();
        assert_eq!(schema(&database, engine).await, first);
    }

    async fn every_step_can_be_taken_alone(engine) {
        let storage = Storage::new(engine).await.unwrap();
        let database = Database::connect(&storage.url).await.unwrap();
        let last = schema(&database, engine).await;
        let steps = u32::try_from(Migrator::migrations().len()).unwrap();
        for _ in 0..steps {
            Migrator::down(&database, Some(1)).await.unwrap();
        }
        for _ in 0..steps {
            Migrator::up(&database, Some(1)).await.unwrap();
        }
        assert_eq!(schema(&database, engine).await, last);
    }
}
