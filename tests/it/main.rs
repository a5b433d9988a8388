//! One binary for all tests that need more than one package.
#![cfg(test)]

mod cli;
mod tidy;
mod x {
    use spindlebook_tests::engine::*;
    spindlebook_tests::on_both_engines! {
        async fn a_database_answers(engine) {
            let s = Storage::new(engine).await.unwrap();
            println!("{}", s.url);
            let s = spindlebook_store::Store::open_for_tests(&s.url, 3).await.unwrap();
            println!("{}", s.engine());
        }
    }
}
