//! The page that is drawn afresh: who may ask for it, what it says when a file is saved, spoilt or removed, and who can't keep others out.

use std::io::{BufRead as _, BufReader, Read as _, Write as _};
use std::net::TcpStream;
use std::process::{Child, Stdio};
use std::time::{Duration, Instant};

use layrule::watch::{Reading, Seen, watch};
use serde_json::Value;

use crate::common::program::{Folder, NEAR_WALL, SOUND, layrule};

/// The program, watching; it ends with the test.
struct Watching {
    child: Child,
    port: u16,
}

impl Watching {
    fn begin(folder: &Folder, arguments: &[&str]) -> Self {
        let arguments: Vec<&str> = ["watch", "--date", "2026-11-25"].iter().chain(arguments).copied().collect();
        let mut command = layrule(folder.0.path(), &arguments);
        let mut child = command.stdout(Stdio::piped()).stderr(Stdio::null()).spawn().expect("the program runs");
        let mut line = String::new();
        BufReader::new(child.stdout.take().expect("its output")).read_line(&mut line).expect("a line");
        let port = line.trim().strip_prefix("http://127.0.0.1:").and_then(|rest| rest.strip_suffix('/'));
        Watching { child, port: port.expect("an address").parse().expect("a port") }
    }

    fn connect(&self) -> TcpStream {
        let stream = TcpStream::connect(("127.0.0.1", self.port)).expect("a connection");
        stream.set_read_timeout(Some(Duration::from_secs(40))).expect("a timeout");
        stream
    }

    /// The status, the head and the body of an answer to these lines.
    fn ask(&self, lines: &str) -> (u16, String, String) {
        let mut stream = self.connect();
        let lines = lines.replace("OWN", &format!("127.0.0.1:{}", self.port));
        stream.write_all(format!("{lines}\r\n\r\n").as_bytes()).expect("it reads");
        let mut answer = String::new();
        stream.read_to_string(&mut answer).expect("an answer");
        let (head, body) = answer.split_once("\r\n\r\n").unwrap_or_else(|| panic!("{answer:?}"));
        (head[9..12].parse().expect("a status"), head.to_string(), body.to_string())
    }

    fn get(&self, path: &str) -> (u16, String, String) {
        self.ask(&format!("GET {path} HTTP/1.1\r\nHost: OWN"))
    }

    /// What is shown, once it is newer.
    fn newer(&self, after: u64) -> Value {
        let until = Instant::now() + Duration::from_secs(60);
        loop {
            let (status, _, body) = self.get(&format!("/view?after={after}"));
            if status == 200 {
                return serde_json::from_str(&body).expect("JSON");
            }
            assert!(status == 204 && Instant::now() < until, "nothing newer came");
        }
    }

    /// What is shown, once it is so.
    fn until(&self, so: impl Fn(&Value) -> bool) -> Value {
        let until = Instant::now() + Duration::from_secs(60);
        let mut shown = self.newer(0);
        while !so(&shown) {
            assert!(Instant::now() < until, "{shown:#}");
            shown = self.newer(shown["version"].as_u64().expect("a version"));
        }
        shown
    }
}

impl Drop for Watching {
    fn drop(&mut self) {
        let _ = self.child.kill();
        let _ = self.child.wait();
    }
}

fn rules(shown: &Value) -> Vec<&str> {
    let findings = shown["view"]["findings"].as_array().expect("findings");
    findings.iter().map(|finding| finding["rule"].as_str().expect("a rule")).collect()
}

#[test]
fn what_is_saved_is_shown() {
    let folder = Folder::new(&[("p.lay", NEAR_WALL)]);
    let watching = Watching::begin(&folder, &["p.lay"]);
    let shown = watching.newer(0);
    assert!(rules(&shown).contains(&"wall-clearance"), "{shown:#}");
    assert_eq!(shown["view"]["file"], "p.lay");
    assert!(shown["view"]["rooms"][0]["svg"].as_str().expect("a drawing").starts_with("<svg"));
    // The run lies from x = 100 to 900 at y = 40: so does its place on the paper, by the drawing's own scale.
    let near =
        shown["view"]["findings"].as_array().expect("findings").iter().find(|one| one["rule"] == "wall-clearance");
    let spot = &near.expect("the finding")["spot"];
    let svg = shown["view"]["rooms"][0]["svg"].as_str().expect("a drawing");
    let matrix = svg.split("matrix(").nth(1).and_then(|rest| rest.split(')').next()).expect("a transform");
    let matrix: Vec<f64> = matrix.split(' ').map(|number| number.parse().expect("a number")).collect();
    let (x, y) = (spot[1].as_f64().expect("x"), spot[2].as_f64().expect("y"));
    let floor = ((x - matrix[4]) / matrix[0], (y - matrix[5]) / matrix[3]);
    assert!((100.0..=900.0).contains(&floor.0) && (floor.1 - 40.0).abs() < 0.1, "{floor:?}");
    // Saved in place, and by putting another file there.
    std::fs::write(folder.path("p.lay"), SOUND).expect("a file");
    let shown = watching.until(|shown| !rules(shown).contains(&"wall-clearance"));
    assert_eq!(shown["problem"], Value::Null);
    std::fs::write(folder.path("other"), NEAR_WALL).expect("a file");
    std::fs::rename(folder.path("other"), folder.path("p.lay")).expect("a file");
    watching.until(|shown| rules(shown).contains(&"wall-clearance"));
}

/// Where each run lies and which line lays it, and the page as it is without script.
#[test]
fn runs_have_their_lines_and_pages_need_no_script() {
    let hostile = NEAR_WALL.replace("room r {", "room r \"<b>& <script>\" {");
    let folder = Folder::new(&[("p.lay", &hostile)]);
    let watching = Watching::begin(&folder, &["p.lay"]);
    let shown = watching.newer(0);
    let room = &shown["view"]["rooms"][0];
    // `run east 800` from (100, 40), on line 5.
    assert_eq!(room["runs"], serde_json::json!([[100.0, 40.0, 900.0, 40.0, 0, 1, 5]]));
    assert_eq!(shown["view"]["lines"][4], "    run east 800");
    assert_eq!(room["cables"], serde_json::json!(["a"]));
    let (status, _, page) = watching.get("/");
    assert_eq!(status, 200);
    assert!(!page.contains("<b>") && !page.contains("<!--") && page.matches("<script").count() == 1, "{page}");
    for finding in shown["view"]["findings"].as_array().expect("findings") {
        let message = finding["message"].as_str().expect("words").replace('"', "&quot;");
        assert!(page.contains(&format!("<span class=\"message\">{message}</span>")), "{message}");
        if finding["spot"] != Value::Null {
            let id = format!("room-1-finding-{}\"", finding["number"]);
            assert!(page.contains(&format!("href=\"#{id}")) && page.contains(&format!("id=\"{id}")), "{id}");
        }
    }
}

#[test]
fn files_that_a_plan_uses_and_rule_packs_are_watched() {
    let kits = "kit K {\n output 100 W at 230 V\n length 0.8 m\n}\n";
    let plan = format!("use \"kits/k.lay\"\n{}", SOUND.replace("cable a {", "cable a {\n kit K"));
    let folder =
        Folder::new(&[("p.lay", &plan), ("kits/k.lay", kits), ("ours.rule", "amend off-floor { severity note }\n")]);
    let watching = Watching::begin(&folder, &["p.lay", "--rules", "ours.rule"]);
    let shown = watching.newer(0);
    assert!(!rules(&shown).contains(&"laid-length"), "{shown:#}");
    std::fs::write(folder.path("kits/k.lay"), kits.replace("0.8 m", "30 m")).expect("a file");
    watching.until(|shown| rules(shown).contains(&"laid-length"));
    std::fs::write(folder.path("ours.rule"), "amend laid-length { severity off }\n").expect("a file");
    watching.until(|shown| !rules(shown).contains(&"laid-length"));
    std::fs::write(folder.path("ours.rule"), "amend nothing { severity off }\n").expect("a file");
    let shown = watching.until(|shown| shown["problem"] != Value::Null);
    assert_eq!(shown["stale"], true);
}

#[test]
fn the_project_file_is_watched() {
    let ours = "rule named {\n about \"A room\"\n severity note\n basis practice\n check room in rooms\n message \"{room} is here\"\n}\n";
    let folder = Folder::new(&[("p.lay", SOUND), ("ours.rule", ours)]);
    let watching = Watching::begin(&folder, &["p.lay"]);
    assert!(!rules(&watching.newer(0)).contains(&"named"));
    std::fs::write(folder.path("layrule.toml"), "rules = [\"ours.rule\"]\n").expect("a file");
    watching.until(|shown| rules(shown).contains(&"named"));
    std::fs::write(folder.path("layrule.toml"), "rules = [\"gone.rule\"]\n").expect("a file");
    let shown = watching.until(|shown| shown["problem"] != Value::Null);
    assert!(shown["problem"].as_str().is_some_and(|problem| problem.contains("gone.rule")), "{shown:#}");
    std::fs::remove_file(folder.path("layrule.toml")).expect("a file");
    watching.until(|shown| shown["problem"] == Value::Null && !rules(shown).contains(&"named"));
}

#[test]
fn text_that_can_not_be_read_leaves_the_last_drawing() {
    let folder = Folder::new(&[("p.lay", SOUND)]);
    let watching = Watching::begin(&folder, &["p.lay"]);
    let good = watching.newer(0);
    std::fs::write(folder.path("p.lay"), SOUND.replace("run east", "run est")).expect("a file");
    let shown = watching.until(|shown| shown["stale"] == true);
    assert!(shown["problem"].as_str().expect("a problem").contains("p.lay:5"), "{shown:#}");
    assert_eq!(shown["view"], good["view"]);
    // Removed, and empty, and back again.
    std::fs::remove_file(folder.path("p.lay")).expect("a file");
    let shown = watching.until(|shown| shown["problem"].as_str().is_some_and(|text| text.contains("no such file")));
    assert_eq!((&shown["view"], &shown["stale"]), (&good["view"], &Value::Bool(true)));
    std::fs::write(folder.path("p.lay"), "").expect("a file");
    let shown = watching.until(|shown| shown["problem"].as_str().is_some_and(|text| text.contains("nothing to check")));
    assert_eq!(shown["view"], good["view"]);
    std::fs::write(folder.path("p.lay"), "let pitch = 100\n").expect("a file");
    let shown = watching.until(|shown| shown["problem"].as_str().is_some_and(|text| text.contains("holds no room")));
    assert_eq!(shown["view"], good["view"]);
    std::fs::write(folder.path("p.lay"), SOUND).expect("a file");
    let shown = watching.until(|shown| shown["problem"] == Value::Null);
    assert_eq!((&shown["view"], &shown["stale"]), (&good["view"], &Value::Bool(false)));
}

#[test]
fn a_plan_that_never_was_sound_is_drawn_as_far_as_it_goes() {
    let folder = Folder::new(&[("p.lay", &SOUND.replace("run east", "run est"))]);
    let watching = Watching::begin(&folder, &["p.lay"]);
    let shown = watching.newer(0);
    assert_eq!(shown["stale"], false);
    assert!(shown["problem"].as_str().is_some());
    assert_eq!(shown["view"]["rooms"].as_array().map(Vec::len), Some(1));
}

/// A page of another site whose name was made to lead here names that site as the host. RFC 9112, 3.2: a request without a host, or with
/// several, is answered with 400.
#[test]
fn strangers_and_writers_are_refused() {
    let folder = Folder::new(&[("p.lay", SOUND)]);
    let watching = Watching::begin(&folder, &["p.lay"]);
    let port = watching.port;
    for own in ["localhost", "LOCALHOST", "127.0.0.1"] {
        assert_eq!(watching.ask(&format!("GET / HTTP/1.1\r\nhost: {own}:{port}")).0, 200, "{own}");
    }
    for other in
        ["127.0.0.1:80", "0.0.0.0:PORT", "localhost.example.org:PORT", "127.0.0.1:PORT.example.org", "[::1]:PORT", ""]
    {
        let lines = format!("GET / HTTP/1.1\r\nHost: {}", other.replace("PORT", &port.to_string()));
        assert_eq!(watching.ask(&lines).0, 403, "{other}");
    }
    let many = format!("GET / HTTP/1.1\r\n{}Host: OWN", "X: a\r\n".repeat(100));
    assert_eq!(watching.ask(&many).0, 431);
    for (lines, expected) in [
        ("GET / HTTP/1.1\r\nHost: example.org", 403),
        ("GET /view HTTP/1.1\r\nHost: example.org:80", 403),
        ("GET / HTTP/1.1\r\nHost: 127.0.0.1", 403),
        ("GET / HTTP/1.1", 400),
        ("GET / HTTP/1.1\r\nHost: OWN\r\nHost: example.org", 400),
        ("POST / HTTP/1.1\r\nHost: OWN", 405),
        ("PUT /view HTTP/1.1\r\nHost: OWN", 405),
        ("OPTIONS / HTTP/1.1\r\nHost: OWN", 405),
        ("GET /p.lay HTTP/1.1\r\nHost: OWN", 404),
        ("GET /../p.lay HTTP/1.1\r\nHost: OWN", 404),
        ("GET http://example.org/ HTTP/1.1\r\nHost: OWN", 404),
        ("GET /view?after=x HTTP/1.1\r\nHost: OWN", 404),
        ("\u{1}\u{2}", 400),
    ] {
        let (status, head, _) = watching.ask(lines);
        assert_eq!(status, expected, "{lines}");
        assert_eq!(expected == 405, head.contains("\r\nAllow: GET, HEAD"), "{head}");
    }
    let (status, head, body) = watching.ask("HEAD / HTTP/1.1\r\nHost: OWN");
    assert_eq!((status, body.as_str()), (200, ""));
    for guard in
        ["default-src 'none'; script-src 'self'", "frame-ancestors 'none'", "nosniff", "no-store", "same-origin"]
    {
        assert!(head.contains(guard), "{head}");
    }
    assert!(!head.contains("unsafe") && !head.to_lowercase().contains("access-control"));
}

/// RFC 5737: 192.0.2.0/24 is nobody's; what listens on the loopback address alone is not reached by any other of this machine's.
#[test]
fn only_the_loopback_address_listens() {
    let folder = Folder::new(&[("p.lay", SOUND)]);
    let watching = Watching::begin(&folder, &["p.lay"]);
    // The address that this machine would go out by, where it has one.
    let socket = std::net::UdpSocket::bind("0.0.0.0:0").expect("a socket");
    if socket.connect("192.0.2.1:9").is_ok()
        && let Ok(own) = socket.local_addr()
        && !own.ip().is_loopback()
    {
        assert!(TcpStream::connect_timeout(&(own.ip(), watching.port).into(), Duration::from_secs(2)).is_err());
    }
}

#[test]
fn slow_clients_keep_no_one_out() {
    let folder = Folder::new(&[("p.lay", SOUND)]);
    let watching = Watching::begin(&folder, &["p.lay"]);
    watching.newer(0);
    // More than there is room for: some say nothing, some begin and stop, some wait for what is newer.
    let mut slow: Vec<TcpStream> = Vec::new();
    for number in 0..150 {
        let mut stream = watching.connect();
        let own = format!("GET /view?after=999 HTTP/1.1\r\nHost: 127.0.0.1:{}\r\n\r\n", watching.port);
        let begun: &[u8] = match number % 3 {
            0 => b"",
            1 => b"GET / HTTP/1.1\r\nHost: ",
            _ => own.as_bytes(),
        };
        let _ = stream.write_all(begun);
        slow.push(stream);
    }
    let before = Instant::now();
    assert_eq!(watching.get("/").0, 200);
    assert!(before.elapsed() < Duration::from_secs(4), "{:?}", before.elapsed());
    // No more threads than connections are let in and a few just cut off; some are the program's own, one a processor among them.
    #[cfg(target_os = "linux")]
    {
        let status = std::fs::read_to_string(format!("/proc/{}/status", watching.child.id())).expect("its status");
        let threads = status.lines().find_map(|line| line.strip_prefix("Threads:")).expect("a line");
        let own = 8 + std::thread::available_parallelism().map_or(1, usize::from);
        assert!(threads.trim().parse::<usize>().expect("a number") <= 48 + 8 + own, "{threads}");
    }
    // A head without end is cut off.
    let mut endless = watching.connect();
    let _ = endless.write_all(format!("GET / HTTP/1.1\r\nX: {}", "a".repeat(64 * 1024)).as_bytes());
    let mut answer = Vec::new();
    let _ = endless.read_to_end(&mut answer);
    assert!(answer.is_empty() || answer.starts_with(b"HTTP/1.1 431"), "{}", String::from_utf8_lossy(&answer));
    drop(slow);
}

#[test]
fn bad_input_is_told_of_at_the_start() {
    let folder = Folder::new(&[("p.lay", SOUND), ("bad.rule", "rule {\n")]);
    let taken = std::net::TcpListener::bind("127.0.0.1:0").expect("a port");
    let port = taken.local_addr().expect("an address").port().to_string();
    for (arguments, word) in [
        (&["watch", "p.lay", "--port", &port][..], "can't be had"),
        (&["watch", "gone.lay"], "there is no such file"),
        (&["watch", "-"], "standard input can't be watched"),
        (&["watch", "p.lay", "--rules", "bad.rule"], "bad.rule"),
        (&["watch", "p.lay", "--port", "70000"], "70000"),
    ] {
        let (code, out, said) = folder.run(arguments);
        assert_eq!((code, out.as_str()), (2, ""), "{arguments:?}");
        assert!(said.contains(word), "{arguments:?}: {said}");
    }
}

#[cfg(unix)]
#[test]
fn interrupted_it_ends_well() {
    let folder = Folder::new(&[("p.lay", SOUND)]);
    for signal in ["-INT", "-TERM"] {
        let mut watching = Watching::begin(&folder, &["p.lay"]);
        watching.newer(0);
        let pid = watching.child.id().to_string();
        assert!(std::process::Command::new("kill").args([signal, &pid]).status().expect("kill").success());
        let until = Instant::now() + Duration::from_secs(10);
        let status = loop {
            if let Some(status) = watching.child.try_wait().expect("its end") {
                break status;
            }
            assert!(Instant::now() < until, "it goes on");
            std::thread::sleep(Duration::from_millis(20));
        };
        assert_eq!(status.code(), Some(0));
    }
}

/// The newest view of a page served by this process, once its version is greater.
fn newer_at(port: u16, after: u64) -> Value {
    let mut stream = TcpStream::connect(("127.0.0.1", port)).expect("a connection");
    stream.set_read_timeout(Some(Duration::from_secs(40))).expect("a timeout");
    let asked = format!("GET /view?after={after} HTTP/1.1\r\nHost: 127.0.0.1:{port}\r\n\r\n");
    stream.write_all(asked.as_bytes()).expect("it reads");
    let mut answer = String::new();
    stream.read_to_string(&mut answer).expect("an answer");
    serde_json::from_str(answer.split_once("\r\n\r\n").expect("a body").1).expect("JSON")
}

/// What goes wrong so badly that it goes wrong again while it is cleared away.
struct Twice;

impl Drop for Twice {
    fn drop(&mut self) {
        panic!("once more");
    }
}

/// Reading that fails is told of on the page, and the next save is read all the same; a thread that ends for good is told to who began it.
#[test]
fn no_thread_dies_unnoticed() {
    let folder = Folder::new(&[("p.lay", SOUND)]);
    let plan = folder.path("p.lay");
    let listener = std::net::TcpListener::bind("127.0.0.1:0").expect("a port");
    let port = listener.local_addr().expect("an address").port();
    let own = plan.clone();
    let read = move || {
        let text = std::fs::read_to_string(&own).expect("it is there");
        match text.as_str() {
            "once" => panic!("a reading that fails"),
            "twice" => std::panic::panic_any(Twice),
            _ => Reading { seen: Seen::Nothing(text), files: vec![own.clone()] },
        }
    };
    let (died, told) = std::sync::mpsc::channel();
    watch(listener, read, move || died.send(()).unwrap_or_default()).expect("it is served");
    let first = newer_at(port, 0);
    assert_eq!((&first["version"], &first["problem"]), (&1.into(), &SOUND.into()));
    std::fs::write(&plan, "once").expect("it can be saved");
    let second = newer_at(port, 1);
    assert!(second["problem"].as_str().is_some_and(|text| text.contains("a fault of layrule's own")), "{second}");
    std::fs::write(&plan, "mended again").expect("it can be saved");
    assert_eq!(newer_at(port, 2)["problem"], "mended again");
    assert!(told.try_recv().is_err(), "nothing has ended");
    std::fs::write(&plan, "twice").expect("it can be saved");
    assert!(told.recv_timeout(Duration::from_secs(40)).is_ok(), "the thread that reads is gone and no one was told");
}
