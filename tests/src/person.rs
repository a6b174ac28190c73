//! A person, or a script, at the screen's HTTP door.

use std::time::Duration;

use serde_json::Value;

/// Speaks HTTP to one daemon.
#[derive(Clone, Debug)]
pub struct Person {
    agent: ureq::Agent,
    /// `http://address`
    pub base: String,
}

/// What was answered to a request of one's own making.
#[derive(Clone, Debug)]
pub struct Answer {
    /// Its status.
    pub status: u16,
    /// Its content type.
    pub kind: String,
    /// Its body.
    pub text: String,
}

impl Person {
    /// A person at `base`.
    #[must_use]
    pub fn at(base: &str) -> Self {
        let config = ureq::Agent::config_builder()
            .timeout_global(Some(Duration::from_secs(20)))
            .http_status_as_error(false)
            .build();
        Self {
            agent: config.into(),
            base: base.to_owned(),
        }
    }

    /// Status and JSON of a GET; `None` where nobody answered.
    #[must_use]
    pub fn try_get(&self, path: &str) -> Option<(u16, Value)> {
        let mut answer = self.agent.get(format!("{}{path}", self.base)).call().ok()?;
        let status = answer.status().as_u16();
        Some((status, answer.body_mut().read_json().ok()?))
    }

    /// The JSON of a GET that must succeed.
    #[must_use]
    pub fn get(&self, path: &str) -> Value {
        let (status, value) = self
            .try_get(path)
            .unwrap_or_else(|| panic!("{path} is not answered"));
        assert_eq!(status, 200, "{path}: {value}");
        value
    }

    /// Text of a GET.
    #[must_use]
    pub fn text(&self, path: &str) -> String {
        let mut answer = self
            .agent
            .get(format!("{}{path}", self.base))
            .call()
            .unwrap();
        answer.body_mut().read_to_string().unwrap()
    }

    /// Status and JSON of a POST; `None` where nobody answered.
    #[must_use]
    pub fn try_post(&self, path: &str, body: &Value) -> Option<(u16, Value)> {
        let mut answer = self
            .agent
            .post(format!("{}{path}", self.base))
            .send_json(body)
            .ok()?;
        let status = answer.status().as_u16();
        Some((status, answer.body_mut().read_json().unwrap_or(Value::Null)))
    }

    /// The entry number of a POST that must succeed.
    pub fn post(&self, path: &str, body: &Value) -> u64 {
        let (status, value) = self
            .try_post(path, body)
            .unwrap_or_else(|| panic!("{path} is not answered"));
        assert!(
            (200..300).contains(&status),
            "{path} {body}: {status} {value}"
        );
        value["seq"]
            .as_u64()
            .unwrap_or_else(|| panic!("{path}: {value}"))
    }

    /// Says who works at a bench: judgements of a person are refused where nobody is named.
    pub fn works_at(&self, bench: &str) -> u64 {
        let body = serde_json::json!({"bench": bench, "operator": "MK"});
        self.post("/api/bench", &body)
    }

    /// A POST as it is, with headers of one's own: for what is to be refused.
    #[must_use]
    pub fn send(&self, path: &str, headers: &[(&str, &str)], body: &[u8]) -> Answer {
        let mut request = self.agent.post(format!("{}{path}", self.base));
        for (name, value) in headers {
            request = request.header(*name, *value);
        }
        let mut answer = request.send(body).unwrap();
        let kind = answer.headers().get("content-type");
        Answer {
            status: answer.status().as_u16(),
            kind: kind.map_or("", |kind| kind.to_str().unwrap()).to_owned(),
            text: answer.body_mut().read_to_string().unwrap(),
        }
    }

    /// An entry as it is served: what happened, and the finding.
    #[must_use]
    pub fn entry(&self, seq: u64) -> Value {
        let path = format!("/api/history?after={}&limit=1", seq - 1);
        self.get(&path)["entries"][0].take()
    }

    /// The newest entry's number.
    #[must_use]
    pub fn newest(&self) -> u64 {
        self.get("/healthz")["seq"].as_u64().unwrap()
    }

    /// A gauge's state on the bench screen.
    #[must_use]
    pub fn gauge_state(&self, gauge: &str) -> String {
        let bench = self.get("/api/bench");
        let gauges = bench["gauges"].as_array().unwrap();
        let found = gauges.iter().find(|g| g["id"] == gauge).unwrap();
        found["state"].as_str().unwrap().to_owned()
    }
}
