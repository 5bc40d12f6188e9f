//! Chromium without a window, driven through the protocol of its developer tools.

use serde_json::{Value, json};
use std::fs;
use std::io::{BufRead, BufReader};
use std::net::TcpStream;
use std::path::{Path, PathBuf};
use std::process::{Child, Command, Stdio};
use std::time::{Duration, Instant};
use tungstenite::stream::MaybeTlsStream;
use tungstenite::{Message, WebSocket};

/// How long anything on the page is waited for. Generous: it only bounds a failure.
const PATIENCE: Duration = Duration::from_mins(2);

/// A page in a browser of its own.
pub struct Browser {
    child: Child,
    profile: PathBuf,
    socket: WebSocket<MaybeTlsStream<TcpStream>>,
    session: String,
    next: u64,
    /// What the page wrote to its console, and errors nobody caught.
    pub complaints: Vec<String>,
}

impl Browser {
    /// Opens an address in a window of this size; `camera` is a y4m file its camera plays over and over.
    pub fn open(url: &str, camera: Option<&Path>, (wide, high): (u32, u32)) -> Self {
        let profile = scratch("profile");
        let mut command = Command::new("chromium");
        command
            .args([
                "--headless",
                "--no-sandbox",
                "--disable-gpu",
                "--mute-audio",
            ])
            .args([
                "--remote-debugging-port=0",
                "--use-fake-ui-for-media-stream",
            ])
            .arg(format!("--user-data-dir={}", profile.display()))
            .arg(format!("--window-size={wide},{high}"))
            .stderr(Stdio::piped())
            .stdout(Stdio::null());
        if let Some(file) = camera {
            command
                .arg("--use-fake-device-for-media-stream")
                .arg(format!(
                    "--use-file-for-fake-video-capture={}",
                    file.display()
                ));
        }
        let mut child = command.arg("about:blank").spawn().unwrap_or_else(|why| {
            panic!(
                "chromium does not start ({why}): apt-get install --no-install-recommends chromium"
            )
        });
        let mut lines = BufReader::new(child.stderr.take().unwrap()).lines();
        let address = lines
            .find_map(|line| {
                line.unwrap()
                    .strip_prefix("DevTools listening on ")
                    .map(str::to_owned)
            })
            .unwrap();
        // The rest of what it writes is read, so that it never waits for a full pipe.
        std::thread::spawn(move || lines.for_each(drop));
        let (socket, _) = tungstenite::connect(address).unwrap();
        let mut browser = Self {
            child,
            profile,
            socket,
            session: String::new(),
            next: 0,
            complaints: Vec::new(),
        };
        let made = browser.ask("Target.createTarget", &json!({"url": "about:blank"}));
        let attached = browser.ask(
            "Target.attachToTarget",
            &json!({"targetId": made["targetId"], "flatten": true}),
        );
        attached["sessionId"]
            .as_str()
            .unwrap()
            .clone_into(&mut browser.session);
        browser.ask("Runtime.enable", &json!({}));
        browser.ask("Page.enable", &json!({}));
        let metrics =
            json!({"width": wide, "height": high, "deviceScaleFactor": 1, "mobile": false});
        browser.ask("Emulation.setDeviceMetricsOverride", &metrics);
        browser.ask("Page.navigate", &json!({"url": url}));
        browser
    }

    /// Asks the browser for something and waits for the answer.
    fn ask(&mut self, method: &str, params: &Value) -> Value {
        self.next += 1;
        let mut asked = json!({"id": self.next, "method": method, "params": params});
        if !self.session.is_empty() {
            asked["sessionId"] = json!(self.session);
        }
        self.socket.send(Message::text(asked.to_string())).unwrap();
        loop {
            let Message::Text(text) = self.socket.read().unwrap() else {
                continue;
            };
            let answer: Value = serde_json::from_str(&text).unwrap();
            match answer["method"].as_str() {
                Some("Runtime.exceptionThrown" | "Runtime.consoleAPICalled") => {
                    self.complaints.push(answer["params"].to_string());
                }
                _ if answer["id"] == json!(self.next) => {
                    assert!(answer.get("error").is_none(), "{method}: {answer}");
                    return answer["result"].clone();
                }
                _ => {}
            }
        }
    }

    fn evaluate(&mut self, expression: &str) -> Result<Value, Value> {
        let found = self.ask(
            "Runtime.evaluate",
            &json!({"expression": expression, "returnByValue": true, "awaitPromise": true}),
        );
        match found.get("exceptionDetails") {
            Some(problem) => Err(problem.clone()),
            None => Ok(found["result"]["value"].clone()),
        }
    }

    /// The value of an expression on the page; promises are waited for.
    pub fn value(&mut self, expression: &str) -> Value {
        self.evaluate(expression)
            .unwrap_or_else(|problem| panic!("{expression}: {problem}"))
    }

    /// Waits until an expression on the page is true; while the page is loading it may fail.
    pub fn wait_for(&mut self, expression: &str) {
        let start = Instant::now();
        while self.evaluate(expression) != Ok(json!(true)) {
            if start.elapsed() > PATIENCE {
                let says = self.value("document.body.innerText");
                panic!(
                    "waited in vain for {expression}; the page says {says}; {:?}",
                    self.complaints
                );
            }
            std::thread::sleep(Duration::from_millis(50));
        }
    }

    /// Clicks in the middle of the first element a selector finds, as a mouse does.
    pub fn click(&mut self, selector: &str) {
        let place = self.value(&format!(
            "(() => {{ const e = document.querySelector({selector:?}); e.scrollIntoView({{block: 'center'}}); const b = e.getBoundingClientRect(); return [b.x + b.width / 2, b.y + b.height / 2]; }})()"
        ));
        for kind in ["mousePressed", "mouseReleased"] {
            self.ask(
                "Input.dispatchMouseEvent",
                &json!({"type": kind, "x": place[0], "y": place[1], "button": "left", "clickCount": 1}),
            );
        }
    }

    /// Presses a key.
    pub fn press(&mut self, key: &str) {
        let text = if key.len() == 1 { key } else { "" };
        // What a field does with a key that writes nothing goes by its number.
        let number = if key == "Backspace" { 8 } else { 0 };
        self.ask(
            "Input.dispatchKeyEvent",
            &json!({"type": "keyDown", "key": key, "text": text, "windowsVirtualKeyCode": number}),
        );
        self.ask(
            "Input.dispatchKeyEvent",
            &json!({"type": "keyUp", "key": key}),
        );
    }

    /// Downloads go into this folder, unasked.
    pub fn save_into(&mut self, folder: &Path) {
        let way = json!({"behavior": "allow", "downloadPath": folder});
        self.ask("Browser.setDownloadBehavior", &way);
    }

    /// Shows the page as it would be printed.
    pub fn print(&mut self) {
        self.ask("Emulation.setEmulatedMedia", &json!({"media": "print"}));
    }

    /// Writes what the page looks like into target/, for people to look at.
    pub fn picture(&mut self, name: &str) {
        use base64::Engine as _;
        let shot = self.ask("Page.captureScreenshot", &json!({"format": "png"}));
        let bytes = base64::engine::general_purpose::STANDARD
            .decode(shot["data"].as_str().unwrap())
            .unwrap();
        let folder = Path::new(env!("CARGO_TARGET_TMPDIR")).join("page");
        fs::create_dir_all(&folder).unwrap();
        fs::write(folder.join(format!("{name}.png")), bytes).unwrap();
    }
}

impl Drop for Browser {
    fn drop(&mut self) {
        let _ = self.child.kill();
        let _ = self.child.wait();
        let _ = fs::remove_dir_all(&self.profile);
    }
}

/// A folder of this test's own.
pub fn scratch(name: &str) -> PathBuf {
    use std::sync::atomic::{AtomicUsize, Ordering};
    static NEXT: AtomicUsize = AtomicUsize::new(0);
    let number = NEXT.fetch_add(1, Ordering::Relaxed);
    let folder = Path::new(env!("CARGO_TARGET_TMPDIR"))
        .join(format!("{name}-{}-{number}", std::process::id()));
    fs::create_dir_all(&folder).unwrap();
    folder
}
