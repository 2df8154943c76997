//! The desk as its reader's browser, and as others, meet it.
#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    reason = "tests"
)]

mod support;

use std::io::{BufRead, BufReader, Read, Write};
use std::net::TcpStream;
use std::process::{Child, Stdio};
use std::time::{Duration, Instant};

use support::written;

/// A desk that closes with its test.
struct Desk {
    child: Child,
    port: u16,
    key: String,
}

impl Drop for Desk {
    fn drop(&mut self) {
        let _ = self.child.kill();
        let _ = self.child.wait();
    }
}

struct Answer {
    status: u16,
    head: String,
    body: String,
}

impl Desk {
    fn open(board: Option<&str>) -> Desk {
        let mut child = support::command()
            .args(["desk", "--no-browser"])
            .args(board)
            .stdout(Stdio::piped())
            .spawn()
            .unwrap();
        let mut line = String::new();
        BufReader::new(child.stdout.take().unwrap())
            .read_line(&mut line)
            .unwrap();
        let (host, key) = line.trim().split_once("/?key=").unwrap();
        let port = host.rsplit(':').next().unwrap().parse().unwrap();
        Desk {
            child,
            port,
            key: key.to_owned(),
        }
    }

    fn ask(&self, method: &str, path: &str, headers: &[(&str, &str)], body: &str) -> Answer {
        let mut stream = TcpStream::connect(("127.0.0.1", self.port)).unwrap();
        stream
            .set_read_timeout(Some(Duration::from_secs(60)))
            .unwrap();
        let mut request = format!("{method} {path} HTTP/1.1\r\nConnection: close\r\n");
        for (name, value) in headers {
            request.push_str(&format!("{name}: {value}\r\n"));
        }
        request.push_str(&format!("Content-Length: {}\r\n\r\n{body}", body.len()));
        stream.write_all(request.as_bytes()).unwrap();
        let mut answer = Vec::new();
        stream.read_to_end(&mut answer).unwrap();
        let answer = String::from_utf8_lossy(&answer).into_owned();
        let (head, body) = answer.split_once("\r\n\r\n").unwrap();
        Answer {
            status: head.split(' ').nth(1).unwrap().parse().unwrap(),
            head: head.to_lowercase(),
            body: body.to_owned(),
        }
    }

    fn host(&self) -> String {
        format!("127.0.0.1:{}", self.port)
    }

    fn cookie(&self) -> String {
        format!("desk-{}={}", self.port, self.key)
    }

    fn get(&self, path: &str) -> Answer {
        let (host, cookie) = (self.host(), self.cookie());
        self.ask("GET", path, &[("Host", &host), ("Cookie", &cookie)], "")
    }

    fn post(&self, path: &str, body: &str) -> Answer {
        let (host, cookie) = (self.host(), self.cookie());
        let origin = format!("http://{host}");
        let headers = [
            ("Host", host.as_str()),
            ("Cookie", &cookie),
            ("Origin", &origin),
            ("Content-Type", "application/x-www-form-urlencoded"),
        ];
        self.ask("POST", path, &headers, body)
    }

    /// The page once something stands in it.
    fn wait(&self, path: &str, wanted: &str) -> String {
        let end = Instant::now() + Duration::from_secs(60);
        loop {
            let body = self.get(path).body;
            if body.contains(wanted) {
                return body;
            }
            assert!(Instant::now() < end, "no `{wanted}` in {path}:\n{body}");
            std::thread::sleep(Duration::from_millis(50));
        }
    }
}

const DIVIDER: &str = include_str!("../../../examples/first-divider.toml");

#[test]
fn the_desk_opens_for_its_reader_alone() {
    let file = written("desk-door", DIVIDER);
    let desk = Desk::open(Some(&file.path()));
    let (host, cookie) = (desk.host(), desk.cookie());
    let get = |headers: &[(&str, &str)]| desk.ask("GET", "/", headers, "").status;
    assert_eq!(get(&[("Host", &host)]), 403, "without the secret");
    assert_eq!(get(&[("Host", &host), ("Cookie", &cookie)]), 200);
    assert_eq!(
        get(&[("Host", "evil.example"), ("Cookie", &cookie)]),
        403,
        "a name somebody else's server gave to this address"
    );
    let elsewhere = [
        ("Host", host.as_str()),
        ("Cookie", &cookie),
        ("Origin", "http://evil.example"),
    ];
    for (method, path) in [("GET", "/draft"), ("POST", "/undo"), ("POST", "/save")] {
        let status = desk.ask(method, path, &elsewhere, "").status;
        assert_eq!(status, 403, "{method} {path}");
    }
    let bare = [("Host", host.as_str()), ("Cookie", &cookie)];
    assert_eq!(desk.ask("POST", "/save", &bare, "").status, 403);
    // The address that was printed lets in once and leaves no secret in view.
    let door = format!("/?key={}", desk.key);
    let answer = desk.ask("GET", &door, &[("Host", &host)], "");
    assert_eq!(answer.status, 303);
    assert!(answer.head.contains("httponly") && answer.head.contains("samesite=strict"));
    let wrong = desk.ask("GET", "/?key=0", &[("Host", &host)], "");
    assert_eq!(wrong.status, 403);
    let head = desk.get("/").head;
    assert!(head.contains("content-security-policy: default-src 'none'; script-src 'self'"));
    assert!(!head.contains("unsafe"));
}

#[test]
fn every_page_answers_and_none_holds_a_script_of_its_own() {
    let file = written("desk-pages", DIVIDER);
    let desk = Desk::open(Some(&file.path()));
    desk.wait("/", "pump-supply");
    for path in [
        "/",
        "/start",
        "/text",
        "/channel/pump-supply",
        "/explain/accuracy.not-met",
        "/part/",
        "/part/file",
        "/part/faults",
        "/part/changes",
        "/part/budget/pump-supply",
        "/part/picture/response/pump-supply",
        "/part/picture/noise/pump-supply",
    ] {
        let answer = desk.get(path);
        assert_eq!(answer.status, 200, "{path}: {}", answer.body);
        for inline in ["onclick", "<script>", "javascript:", "style=\""] {
            assert!(!answer.body.contains(inline), "{path}: {inline}");
        }
    }
    for path in [
        "/channel/nobody",
        "/nothing",
        "/explain/no.thing",
        "/../etc/passwd",
    ] {
        assert_eq!(desk.get(path).status, 404, "{path}");
    }
}

#[test]
fn a_value_is_nudged_and_saved_and_nothing_else_of_the_file_changes() {
    let file = written("desk-nudge", DIVIDER);
    let desk = Desk::open(Some(&file.path()));
    desk.wait("/", "pump-supply");
    let path = "channels.pump-supply.chain.0.divider.top";
    let old = board::locate(DIVIDER, path).unwrap().text;
    let new = verdict::nudged(&old, true, true).unwrap();
    let answer = desk.post("/nudge", &format!("path={path}&step=up"));
    assert_eq!(
        (answer.status, answer.body.trim().contains(&new)),
        (200, true)
    );
    assert!(desk.get("/part/file").body.contains("changed, not saved"));
    assert_eq!(
        std::fs::read_to_string(file.path()).unwrap(),
        DIVIDER,
        "nothing is written yet"
    );
    desk.post("/undo", "");
    assert!(desk.get("/part/file").body.contains("as saved"));
    desk.post("/redo", "");
    assert!(desk.post("/save", "").body.contains("Saved"));
    let wanted = board::with_value(DIVIDER, path, &new).unwrap();
    assert_eq!(std::fs::read_to_string(file.path()).unwrap(), wanted);
    assert_eq!(
        desk.post("/nudge", "path=rails.nobody.voltage&value=3")
            .status,
        422
    );
}

#[test]
fn what_another_program_writes_is_shown_and_never_overwritten() {
    let file = written("desk-elsewhere", DIVIDER);
    let desk = Desk::open(Some(&file.path()));
    desk.wait("/", "pump-supply");
    desk.post("/draft", "text=%23+mine%0A");
    let theirs = format!("# theirs\n{DIVIDER}");
    std::fs::write(file.path(), &theirs).unwrap();
    assert!(desk.post("/save", "").body.contains("nothing was written"));
    assert_eq!(std::fs::read_to_string(file.path()).unwrap(), theirs);
    desk.wait("/part/file", "Another program has changed the file");
    desk.post("/theirs", "");
    assert!(desk.get("/draft").body.contains("# theirs"));
    desk.post("/undo", "");
    assert!(
        desk.get("/draft").body.contains("# mine"),
        "what was mine comes back"
    );
}

#[test]
fn a_broken_text_keeps_the_last_answers_and_names_its_lines() {
    let file = written("desk-broken", DIVIDER);
    let desk = Desk::open(Some(&file.path()));
    desk.wait("/", "pump-supply");
    let broken = DIVIDER.replace("[board]", "[board]\nnmae = 1");
    let encoded: String = broken.bytes().map(|b| format!("%{b:02X}")).collect();
    desk.post("/draft", &format!("text={encoded}"));
    let page = desk.wait("/part/", "unknown key");
    assert!(
        page.contains("#line-") && page.contains("pump-supply"),
        "{page}"
    );
}

#[test]
fn names_in_a_board_file_are_no_markup() {
    let evil = "<script>alert(1)</script>";
    let text = DIVIDER.replace("name = \"", &format!("name = \"{evil}"));
    let file = written("desk-evil", &text);
    let desk = Desk::open(Some(&file.path()));
    let page = desk.wait("/", "pump-supply");
    assert!(page.contains("&lt;script&gt;") && !page.contains("<script>"));
}

#[test]
fn an_empty_desk_starts_boards_and_writes_only_beside_itself() {
    let desk = Desk::open(None);
    assert_eq!(desk.get("/").status, 303);
    assert!(desk.get("/start").body.contains("cellar-rack"));
    assert_eq!(desk.post("/open", "demonstration=first-board").status, 303);
    desk.wait("/", "class=\"strip\"");
    for name in ["..%2Fout", "%2Ftmp%2Fx", "a%00b", "", ".hidden%2F"] {
        let said = desk.post("/save-as", &format!("name={name}")).body;
        assert!(!said.contains("Saved"), "{name}: {said}");
    }
}
