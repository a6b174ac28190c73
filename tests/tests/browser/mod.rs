//! A real browser, driven from outside.

#![allow(
    clippy::unwrap_used,
    reason = "helpers of tests: what cannot be set up here fails the test"
)]

use std::io::{BufRead as _, BufReader};
use std::process::{Child, Command, Stdio};

use fantoccini::elements::Element;
use fantoccini::key::Key;
use fantoccini::{Client, ClientBuilder, Locator};
use hyper_util::client::legacy::connect::HttpConnector;
use oddleg_tests::wait;
use serde_json::{Value, json};
use tempfile::TempDir;
use tokio::runtime::Runtime;

/// A browser with a profile of its own; gone when dropped.
pub(crate) struct Browser {
    runtime: Runtime,
    client: Option<Client>,
    driver: Child,
    _profile: TempDir,
}

impl Browser {
    /// A window as on a computer beside the bench.
    pub(crate) fn wide() -> Self {
        Self::with(None)
    }

    /// A phone `width` CSS pixels wide.
    pub(crate) fn phone(width: u32) -> Self {
        Self::with(Some(width))
    }

    fn with(phone: Option<u32>) -> Self {
        let needs = "chromedriver is installed (Debian: chromium chromium-driver)";
        let mut driver = Command::new("chromedriver")
            .arg("--port=0")
            .stdout(Stdio::piped())
            .stderr(Stdio::null())
            .spawn()
            .expect(needs);
        let said = BufReader::new(driver.stdout.take().unwrap()).lines();
        let port = said
            .map_while(Result::ok)
            .find_map(|line| {
                let (_, port) = line.split_once("started successfully on port ")?;
                Some(port.trim_end_matches('.').to_owned())
            })
            .expect(needs);
        let profile = tempfile::Builder::new()
            .prefix("oddleg-browser-")
            .tempdir()
            .unwrap();
        let mut chrome = json!({"args": [
            "--headless", "--no-sandbox", "--disable-gpu", "--disable-dev-shm-usage", "--disable-quic", "--no-first-run",
            "--disable-background-networking", "--disable-component-update", "--disable-sync",
            format!("--user-data-dir={}", profile.path().display()),
        ]});
        if let Some(width) = phone {
            let metrics = json!({"width": width, "height": 740, "pixelRatio": 1, "touch": true});
            chrome["mobileEmulation"] = json!({"deviceMetrics": metrics});
        }
        let wanted = json!({"browserName": "chrome", "goog:chromeOptions": chrome});
        let runtime = tokio::runtime::Builder::new_current_thread()
            .enable_all()
            .build()
            .unwrap();
        let mut builder = ClientBuilder::new(HttpConnector::new());
        builder.capabilities(wanted.as_object().unwrap().clone());
        let client = runtime
            .block_on(builder.connect(&format!("http://127.0.0.1:{port}")))
            .expect("chromium is installed (Debian: chromium)");
        Self {
            runtime,
            client: Some(client),
            driver,
            _profile: profile,
        }
    }

    fn client(&self) -> &Client {
        self.client.as_ref().unwrap()
    }

    /// Opens a page.
    pub(crate) fn open(&self, url: &str) {
        self.runtime.block_on(self.client().goto(url)).unwrap();
    }

    /// The value of a JavaScript expression in the page.
    pub(crate) fn ask(&self, expression: &str) -> Value {
        let script = format!("return {expression}");
        self.runtime
            .block_on(self.client().execute(&script, Vec::new()))
            .unwrap()
    }

    /// Waits until an expression becomes true.
    pub(crate) fn until(&self, expression: &str) {
        wait::until(expression, || (self.ask(expression) == true).then_some(()));
    }

    /// The text a person sees there.
    pub(crate) fn text(&self, css: &str) -> String {
        let text = self.ask(&format!(
            "document.querySelector({css:?})?.innerText ?? null"
        ));
        text.as_str()
            .unwrap_or_else(|| panic!("{css} is not there"))
            .to_owned()
    }

    /// Presses what `css` names, as a finger or a mouse does.
    pub(crate) fn press(&self, css: &str) {
        self.runtime
            .block_on(async { self.client().find(Locator::Css(css)).await?.click().await })
            .unwrap();
    }

    /// Presses a key, wherever the focus is.
    pub(crate) fn key(&self, key: Key) {
        let text = char::from(key).to_string();
        self.runtime
            .block_on(async { self.focused().await.send_keys(&text).await })
            .unwrap();
    }

    /// Writes where the focus is.
    pub(crate) fn write(&self, text: &str) {
        self.runtime
            .block_on(async { self.focused().await.send_keys(text).await })
            .unwrap();
    }

    async fn focused(&self) -> Element {
        self.client().active_element().await.unwrap()
    }
}

impl Drop for Browser {
    fn drop(&mut self) {
        if let Some(client) = self.client.take() {
            // It closes its browser; where that fails the driver's end does.
            drop(self.runtime.block_on(client.close()));
        }
        drop(self.driver.kill());
        drop(self.driver.wait());
    }
}
