//! A proxy before PostgreSQL that loses one commit: the client cannot know whether it stands. A COMMIT is one, and so is
//! a statement that moves the head of a site in a transaction of its own.

use anyhow::{Context, Result};
use std::collections::BTreeSet;
use std::net::SocketAddr;
use std::path::PathBuf;
use std::sync::atomic::{AtomicUsize, Ordering};
use std::sync::{Arc, Mutex, PoisonError};
use tokio::io::{AsyncReadExt, AsyncWriteExt};
use tokio::net::{TcpListener, TcpStream, UnixStream};
use tokio::task::JoinHandle;

/// What becomes of the next commit. The client sees the same both times: its connection is gone.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Cut {
    /// The server never sees it and rolls back.
    BeforeCommit,
    /// The server has committed; its answer is lost.
    AfterCommit,
}

#[derive(Default)]
struct State {
    next: Mutex<Option<Cut>>,
    cuts: AtomicUsize,
}

pub struct CutProxy {
    address: SocketAddr,
    state: Arc<State>,
    accepting: JoinHandle<()>,
}

impl CutProxy {
    /// Passes everything on to the server behind that socket.
    pub async fn start(socket: PathBuf) -> Result<Self> {
        let listener = TcpListener::bind("127.0.0.1:0").await?;
        let address = listener.local_addr()?;
        let state = Arc::new(State::default());
        let shared = Arc::clone(&state);
        let accepting = tokio::spawn(async move {
            while let Ok((client, _)) = listener.accept().await {
                let (socket, state) = (socket.clone(), Arc::clone(&shared));
                tokio::spawn(async move {
                    // An end on either side is an end of both; who was cut off will say so.
                    let _ = pass_on(client, socket, &state).await;
                });
            }
        });
        Ok(Self {
            address,
            state,
            accepting,
        })
    }

    pub fn url(&self, database: &str) -> String {
        format!("postgres://postgres@{}/{database}?sslmode=disable", self.address)
    }

    pub fn cut_next(&self, cut: Cut) {
        *self.state.next.lock().unwrap_or_else(PoisonError::into_inner) = Some(cut);
    }

    /// How many were cut so far.
    pub fn cuts(&self) -> usize {
        self.state.cuts.load(Ordering::SeqCst)
    }
}

impl Drop for CutProxy {
    fn drop(&mut self) {
        self.accepting.abort();
    }
}

async fn pass_on(mut client: TcpStream, socket: PathBuf, state: &State) -> Result<()> {
    let mut server = UnixStream::connect(socket).await?;
    let mut from_client = Vec::new();
    let mut from_server = Vec::new();
    // The first message has no letter before its length.
    let mut is_first = true;
    let mut alone = AtOnce::default();
    loop {
        tokio::select! {
            read = client.read_buf(&mut from_client) => {
                if read? == 0 {
                    return Ok(());
                }
                while let Some(message) = take_message(&mut from_client, is_first) {
                    is_first = false;
                    let commits = is_commit(&message) || alone.begins(&message);
                    match if commits { take_cut(state) } else { None } {
                        None => server.write_all(&message).await?,
                        Some(Cut::BeforeCommit) => {
                            state.cuts.fetch_add(1, Ordering::SeqCst);
                            return Ok(());
                        }
                        Some(Cut::AfterCommit) => {
                            server.write_all(&message).await?;
                            if !is_commit(&message) {
                                pass_until_sync(&mut client, &mut from_client, &mut server).await?;
                            }
                            read_until_ready(&mut server).await?;
                            state.cuts.fetch_add(1, Ordering::SeqCst);
                            return Ok(());
                        }
                    }
                }
            }
            read = server.read_buf(&mut from_server) => {
                if read? == 0 {
                    return Ok(());
                }
                client.write_all(&from_server).await?;
                from_server.clear();
            }
        }
    }
}

fn take_cut(state: &State) -> Option<Cut> {
    state.next.lock().unwrap_or_else(PoisonError::into_inner).take()
}

/// PostgreSQL's protocol, version 3: a letter, a length of four bytes that counts itself, the rest.
fn take_message(buffer: &mut Vec<u8>, is_first: bool) -> Option<Vec<u8>> {
    let length_at = usize::from(!is_first);
    let length: [u8; 4] = buffer.get(length_at..length_at + 4)?.try_into().ok()?;
    let end = length_at + usize::try_from(u32::from_be_bytes(length)).ok()?;
    (buffer.len() >= end).then(|| buffer.drain(..end).collect())
}

fn is_commit(message: &[u8]) -> bool {
    message.first() == Some(&b'Q')
        && message
            .get(5..11)
            .is_some_and(|text| text.eq_ignore_ascii_case(b"COMMIT"))
}

/// Prepared statements that commit by themselves, by their names.
#[derive(Default)]
struct AtOnce(BTreeSet<Vec<u8>>);

impl AtOnce {
    /// Whether the message binds values to one of them: what follows it, up to Sync, is one transaction.
    fn begins(&mut self, message: &[u8]) -> bool {
        let mut texts = message.get(5..).unwrap_or_default().split(|byte| *byte == 0);
        match message.first() {
            // Parse: the statement's name, its text.
            Some(b'P') => {
                let (name, text) = (texts.next().unwrap_or_default(), texts.next().unwrap_or_default());
                if text.starts_with(b"WITH moved AS (UPDATE site ") {
                    self.0.insert(name.to_vec());
                }
                false
            }
            // Bind: the portal, the statement's name.
            Some(b'B') => texts.nth(1).is_some_and(|name| self.0.contains(name)),
            _ => false,
        }
    }
}

async fn pass_until_sync(
    client: &mut TcpStream,
    from_client: &mut Vec<u8>,
    server: &mut UnixStream,
) -> Result<()> {
    loop {
        while let Some(message) = take_message(from_client, false) {
            server.write_all(&message).await?;
            if message.first() == Some(&b'S') {
                return Ok(());
            }
        }
        if client.read_buf(from_client).await? == 0 {
            return Err(anyhow::anyhow!("the client ended before its Sync"));
        }
    }
}

async fn read_until_ready(server: &mut UnixStream) -> Result<()> {
    let mut answer = Vec::new();
    // ReadyForQuery: `Z`, length 5, one letter.
    while !answer
        .len()
        .checked_sub(6)
        .is_some_and(|at| answer[at..].starts_with(b"Z\0\0\0\x05"))
    {
        if server.read_buf(&mut answer).await? == 0 {
            return Err(anyhow::anyhow!("the server ended in its answer to COMMIT"));
        }
    }
    // BindComplete comes first where a statement was bound, CommandComplete else; an error begins with E.
    let is_done = matches!(answer.first(), Some(b'C' | b'2'));
    is_done.then_some(()).context("the server did not commit")
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::postgres::DurableCluster;
    use sqlx::{Connection, PgConnection};

    async fn insert(connection: &mut PgConnection, n: i32) -> Result<(), sqlx::Error> {
        let mut transaction = connection.begin().await?;
        sqlx::query("insert into kept values ($1)")
            .bind(n)
            .execute(&mut *transaction)
            .await?;
        transaction.commit().await
    }

    #[tokio::test]
    async fn a_lost_commit_looks_the_same_whether_it_stands_or_not() {
        let cluster = DurableCluster::start().await.unwrap();
        let proxy = CutProxy::start(cluster.socket()).await.unwrap();
        let mut direct = cluster.connect().await.unwrap();
        sqlx::query("create table kept (n int)")
            .execute(&mut direct)
            .await
            .unwrap();
        let url = proxy.url("spindlebook");
        let mut through = PgConnection::connect(&url).await.unwrap();
        insert(&mut through, 1).await.unwrap();
        proxy.cut_next(Cut::BeforeCommit);
        insert(&mut through, 2).await.unwrap_err();
        let mut through = PgConnection::connect(&url).await.unwrap();
        proxy.cut_next(Cut::AfterCommit);
        insert(&mut through, 3).await.unwrap_err();
        assert_eq!(proxy.cuts(), 2);
        let kept: Vec<i32> = sqlx::query_scalar("select n from kept order by n")
            .fetch_all(&mut direct)
            .await
            .unwrap();
        assert_eq!(kept, [1, 3]);
    }
}
