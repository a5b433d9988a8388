use super::*;
use serde_json::json;
use std::collections::BTreeMap;
use std::sync::Mutex;
use tokio::io::{AsyncReadExt, AsyncWriteExt};
use tokio::net::TcpListener;

/// Tries so far, by key.
type Tries = Arc<Mutex<BTreeMap<String, usize>>>;

/// Is busy at the first try of each key, cuts its answer short at the second, and answers the third.
async fn reluctant_server(tries: Tries) -> String {
    let listener = TcpListener::bind("127.0.0.1:0").await.unwrap();
    let address = listener.local_addr().unwrap();
    tokio::spawn(async move {
        while let Ok((mut connection, _)) = listener.accept().await {
            let tries = Arc::clone(&tries);
            tokio::spawn(async move {
                let mut request = Vec::new();
                while !request.ends_with(b"{\"n\":1}") {
                    connection.read_buf(&mut request).await.unwrap();
                }
                let request = String::from_utf8(request).unwrap().to_lowercase();
                let key = request
                    .split("idempotency-key: \"")
                    .nth(1)
                    .unwrap()
                    .split('"')
                    .next()
                    .unwrap();
                let attempt = {
                    let mut tries = tries.lock().unwrap();
                    let count = tries.entry(key.to_owned()).or_default();
                    *count += 1;
                    *count
                };
                let answer = match attempt {
                    1 => {
                        "HTTP/1.1 503 Busy\r\nretry-after: 1\r\ncontent-length: 0\r\nconnection: close\r\n\r\n"
                    }
                    2 => "HTTP/1.1 201 Created\r\ncontent-length: 10\r\nconnection: close\r\n\r\nhalf",
                    _ => "HTTP/1.1 201 Created\r\ncontent-length: 5\r\nconnection: close\r\n\r\nwhole",
                };
                connection.write_all(answer.as_bytes()).await.unwrap();
            });
        }
    });
    format!("http://{address}")
}

#[tokio::test]
async fn a_command_is_sent_under_one_key_until_its_whole_answer_is_there() {
    let tries = Tries::default();
    let base_url = reluctant_server(Arc::clone(&tries)).await;
    let one = |_, _| Sending {
        path: "/v1/x".into(),
        body: json!({ "n": 1 }),
        entries: 1,
    };
    let load = Load::start(
        &base_url,
        &(Arc::new(|_| "token".to_owned()) as TokenSource),
        4,
        one,
    )
    .unwrap();
    while load.acknowledged() < 8 {
        tokio::time::sleep(Duration::from_millis(5)).await;
    }
    let tally = load.finish().await;
    let acknowledged = tally.acknowledged.len();
    assert!(acknowledged >= 8);
    assert_eq!(
        (tally.busy, tally.busy_without_retry_after, tally.unanswered),
        (acknowledged, 0, acknowledged)
    );
    assert!(
        tally
            .acknowledged
            .iter()
            .all(|one| one.tries == 3 && one.body == b"whole")
    );
    assert!(tally.unexpected.is_empty());
    let tries = tries.lock().unwrap();
    assert_eq!(tries.len(), acknowledged);
    assert!(tries.values().all(|count| *count == 3));
}
