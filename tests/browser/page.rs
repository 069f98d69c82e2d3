//! One browser window: what is on it, what a person does to it, and what it complains about.

use std::path::Path;
use std::time::{Duration, Instant};

use base64::Engine as _;
use fantoccini::elements::Element;
use fantoccini::key::Key;
use fantoccini::wd::{Capabilities, WebDriverCompatibleCommand};
use fantoccini::{Client, ClientBuilder, Locator};
use hyper_util::client::legacy::connect::HttpConnector;
use serde_json::{Value, json};

use crate::studio::PATIENCE;

#[derive(Clone)]
pub struct Page {
    client: Client,
    base: String,
}

/// A command of the driver beyond the standard.
#[derive(Debug)]
struct Beyond(&'static str, Value);

impl WebDriverCompatibleCommand for Beyond {
    fn endpoint(&self, base: &url::Url, session: Option<&str>) -> Result<url::Url, url::ParseError> {
        base.join(&format!("session/{}/{}", session.unwrap_or_default(), self.0))
    }

    fn method_and_body(&self, _: &url::Url) -> (http::Method, Option<String>) {
        (http::Method::POST, Some(self.1.to_string()))
    }
}

impl Page {
    pub async fn open(driver: &str, base: &str) -> Self {
        let capabilities: Capabilities = serde_json::from_value(json!({
            "goog:chromeOptions": {"args": ["--headless=new", "--no-sandbox", "--disable-gpu", "--disable-dev-shm-usage", "--no-first-run", "--disable-background-networking", "--disable-component-update", "--force-color-profile=srgb", "--window-size=1280,900"]},
            "goog:loggingPrefs": {"browser": "ALL"},
        }))
        .unwrap();
        let client = ClientBuilder::new(HttpConnector::new()).capabilities(capabilities).connect(driver).await;
        let page = Self { client: client.expect("a browser was started"), base: base.to_owned() };
        page.screen(1280, 900).await;
        page
    }

    pub async fn close(self) {
        let _ = self.client.close().await;
    }

    // --------------------------------------------------------------------------------------------- the window

    pub async fn cdp(&self, command: &str, parameters: Value) -> Value {
        let sent = Beyond("goog/cdp/execute", json!({"cmd": command, "params": parameters}));
        self.client.issue_cmd(sent).await.unwrap_or_else(|error| panic!("{command}: {error}"))
    }

    pub async fn screen(&self, wide: u32, high: u32) {
        let size = json!({"width": wide, "height": high, "deviceScaleFactor": 1, "mobile": wide < 500});
        self.cdp("Emulation.setDeviceMetricsOverride", size).await;
    }

    pub async fn prefers(&self, scheme: &str) {
        let features = json!({"features": [{"name": "prefers-color-scheme", "value": scheme}]});
        self.cdp("Emulation.setEmulatedMedia", features).await;
    }

    /// The page printed, as a browser prints it when it is told to take the page's own paper.
    pub async fn printed(&self) -> Vec<u8> {
        let pdf = self.cdp("Page.printToPDF", json!({"preferCSSPageSize": true, "printBackground": true})).await;
        base64::engine::general_purpose::STANDARD.decode(pdf["data"].as_str().unwrap()).unwrap()
    }

    /// What the browser complained about since the last time it was asked.
    pub async fn complaints(&self) -> Vec<String> {
        let log = self.client.issue_cmd(Beyond("se/log", json!({"type": "browser"}))).await.unwrap();
        let all =
            log.as_array().unwrap().iter().filter(|entry| entry["level"] == "SEVERE" || entry["level"] == "WARNING");
        all.map(|entry| entry["message"].as_str().unwrap_or_default().to_owned()).collect()
    }

    /// The browser had nothing to complain about: no error, no refused script or style, no lost file.
    #[track_caller]
    pub fn is_quiet(&self) -> impl Future<Output = ()> + Send + use<> {
        self.complains_only_of(&[])
    }

    /// The browser complained of nothing but refusals the test asked for.
    #[track_caller]
    pub fn complains_only_of(&self, expected: &'static [&'static str]) -> impl Future<Output = ()> + Send + use<> {
        let page = self.clone();
        let place = std::panic::Location::caller();
        async move {
            let all = page.complaints().await;
            let rest: Vec<_> = all.iter().filter(|one| !expected.iter().any(|words| one.contains(words))).collect();
            assert!(rest.is_empty(), "{place}: {rest:#?}");
        }
    }

    pub async fn keep_the_screen(&self) {
        let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("shots");
        let name = std::thread::current().name().unwrap_or("test").replace("::", "-");
        if let Ok(png) = self.client.screenshot().await {
            let _ = std::fs::create_dir_all(&folder);
            let file = folder.join(format!("{name}.png"));
            if std::fs::write(&file, png).is_ok() {
                eprintln!("the screen at that moment: {}", file.display());
            }
        }
        if let Ok(log) = self.client.issue_cmd(Beyond("se/log", json!({"type": "browser"}))).await {
            eprintln!("what the browser said: {log}");
        }
    }

    // ------------------------------------------------------------------------------------------------ looking

    /// Opens a page of the notebook and waits until its modules stand.
    pub async fn go(&self, path: &str) {
        self.client.goto(&format!("{}{path}", self.base)).await.unwrap();
        self.until(
            "the page to be complete",
            "return document.readyState === 'complete' && document.fonts.status === 'loaded'",
        )
        .await;
    }

    /// Opens one more tab of the same browser and goes on in it.
    pub async fn tab(&self) {
        let tab = self.client.new_window(true).await.unwrap();
        self.client.switch_to_window(tab.handle).await.unwrap();
    }

    pub async fn address(&self) -> String {
        let url = self.client.current_url().await.unwrap();
        url.as_str().trim_start_matches(&self.base).to_owned()
    }

    pub async fn title(&self) -> String {
        self.client.title().await.unwrap()
    }

    pub async fn js(&self, script: &str, arguments: &[Value]) -> Value {
        self.client.execute(script, arguments.to_vec()).await.unwrap_or_else(|error| panic!("{script}: {error}"))
    }

    /// What a script says once it is done: it calls its last argument with that.
    pub async fn js_later(&self, script: &str, arguments: &[Value]) -> Value {
        self.client.execute_async(script, arguments.to_vec()).await.unwrap_or_else(|error| panic!("{script}: {error}"))
    }

    /// Waits until a script says yes.
    #[track_caller]
    pub fn until(&self, what: &str, script: &str) -> impl Future<Output = ()> + Send + use<> {
        self.until_with(what, script, &[])
    }

    #[track_caller]
    pub fn until_with(&self, what: &str, script: &str, arguments: &[Value]) -> impl Future<Output = ()> + Send + use<> {
        let place = std::panic::Location::caller();
        let (page, what, script, arguments) = (self.clone(), what.to_owned(), script.to_owned(), arguments.to_vec());
        async move {
            let began = Instant::now();
            loop {
                // A page that is just being left may refuse to answer.
                let answer = page.client.execute(&script, arguments.clone()).await;
                if answer.as_ref().is_ok_and(|answer| answer.as_bool() == Some(true)) {
                    return;
                }
                if began.elapsed() > PATIENCE {
                    let text = page.client.execute("return document.body.innerText", vec![]).await;
                    let text = text.ok().and_then(|text| text.as_str().map(str::to_owned)).unwrap_or_default();
                    panic!(
                        "{place}: waited in vain for {what} ({answer:?}); the page says:\n{}",
                        text.chars().take(3000).collect::<String>()
                    );
                }
                tokio::time::sleep(Duration::from_millis(25)).await;
            }
        }
    }

    /// Waits until the text of an element holds some words.
    #[track_caller]
    pub fn until_says(&self, css: &str, words: &str) -> impl Future<Output = ()> + Send + use<> {
        let script = "const e = document.querySelector(arguments[0]); return !!e && e.textContent.replace(/[\\s\\u00a0\\u202f]+/g, ' ').includes(arguments[1])";
        self.until_with(&format!("`{css}` to say `{words}`"), script, &[json!(css), json!(words)])
    }

    #[track_caller]
    pub fn until_there(&self, css: &str) -> impl Future<Output = ()> + Send + use<> {
        let script = "const e = document.querySelector(arguments[0]); return !!e && e.getClientRects().length > 0";
        self.until_with(&format!("`{css}` to be seen"), script, &[json!(css)])
    }

    #[track_caller]
    pub fn until_gone(&self, css: &str) -> impl Future<Output = ()> + Send + use<> {
        let script = "const e = document.querySelector(arguments[0]); return !e || e.getClientRects().length === 0";
        self.until_with(&format!("`{css}` to be gone"), script, &[json!(css)])
    }

    /// The text of an element, spaces as one.
    pub async fn text(&self, css: &str) -> String {
        let script = "const e = document.querySelector(arguments[0]); return e && e.textContent";
        let text = self.js(script, &[json!(css)]).await;
        let text = text.as_str().unwrap_or_else(|| panic!("there is no `{css}`")).replace(['\u{a0}', '\u{202f}'], " ");
        text.split_whitespace().collect::<Vec<_>>().join(" ")
    }

    pub async fn value(&self, css: &str) -> String {
        let value = self.js("return document.querySelector(arguments[0]).value", &[json!(css)]).await;
        value.as_str().unwrap_or_else(|| panic!("`{css}` has no value")).to_owned()
    }

    pub async fn is_there(&self, css: &str) -> bool {
        self.js(
            "const e = document.querySelector(arguments[0]); return !!e && e.getClientRects().length > 0",
            &[json!(css)],
        )
        .await
            == json!(true)
    }

    // ------------------------------------------------------------------------------------------------- doing

    pub async fn find(&self, css: &str) -> Element {
        self.client.find(Locator::Css(css)).await.unwrap_or_else(|error| panic!("`{css}`: {error}"))
    }

    pub async fn click(&self, css: &str) {
        self.js("document.querySelector(arguments[0])?.scrollIntoView({ block: 'center' })", &[json!(css)]).await;
        self.find(css).await.click().await.unwrap_or_else(|error| panic!("`{css}`: {error}"));
    }

    /// Types into an element, after what it holds.
    pub async fn type_into(&self, css: &str, text: &str) {
        self.find(css).await.send_keys(text).await.unwrap_or_else(|error| panic!("`{css}`: {error}"));
    }

    /// Types where the caret stands.
    pub async fn keys(&self, text: &str) {
        self.client.active_element().await.unwrap().send_keys(text).await.unwrap();
    }

    pub async fn press(&self, key: Key) {
        self.keys(&String::from(char::from(key))).await;
    }

    /// Puts the caret before some words of the open passage.
    pub async fn caret_before(&self, words: &str) {
        let script = "const a = document.getElementById('passage'), i = a.value.indexOf(arguments[0]); a.focus(); a.setSelectionRange(i, i); return i";
        assert!(self.js(script, &[json!(words)]).await.as_i64().unwrap() >= 0, "{words} stands in the passage");
    }

    /// Puts the caret behind everything in the open passage.
    pub async fn caret_to_the_end(&self) {
        self.js("const a = document.getElementById('passage'); a.focus(); a.setSelectionRange(a.value.length, a.value.length)", &[]).await;
    }

    /// Presses a key while Control is held.
    pub async fn control(&self, key: &str) {
        self.keys(&format!("{}{key}{}", char::from(Key::Control), char::from(Key::Null))).await;
    }

    /// Chooses a line of a list by its words, as a person would: with the keyboard.
    pub async fn choose(&self, css: &str, words: &str) {
        self.find(css).await.select_by_label(words).await.unwrap_or_else(|error| panic!("`{css}`: {error}"));
    }

    /// Puts a value in place of what an element holds, and leaves the element.
    pub async fn enter(&self, css: &str, text: &str) {
        let control = self.find(css).await;
        self.js("document.querySelector(arguments[0])?.scrollIntoView({ block: 'center' })", &[json!(css)]).await;
        control.click().await.unwrap();
        self.control("a").await;
        self.keys(text).await;
        self.press(Key::Tab).await;
    }
}
