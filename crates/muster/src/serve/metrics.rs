//! Counts for Prometheus, in its text format 0.0.4.

use std::{
    collections::BTreeMap,
    fmt::Write as _,
    sync::{Mutex, PoisonError},
    time::Duration,
};

/// Upper bounds of the buckets of request times, in seconds.
const BUCKETS: [f64; 8] = [0.001, 0.005, 0.01, 0.025, 0.05, 0.1, 0.5, 2.0];

/// Requests by route, method and status, and how long they took.
#[derive(Debug, Default)]
pub struct Metrics {
    requests: Mutex<BTreeMap<(String, String, u16), u64>>,
    times: Mutex<BTreeMap<String, Times>>,
}

#[derive(Clone, Debug, Default)]
struct Times {
    buckets: [u64; BUCKETS.len()],
    count: u64,
    seconds: f64,
}

impl Metrics {
    /// Notes one request. The route is the pattern it matched, not its path, so that the list stays short.
    pub fn note(&self, route: &str, method: &str, status: u16, took: Duration) {
        let mut requests = self.requests.lock().unwrap_or_else(PoisonError::into_inner);
        *requests.entry((route.to_string(), method.to_string(), status)).or_insert(0) += 1;
        let mut times = self.times.lock().unwrap_or_else(PoisonError::into_inner);
        let of = times.entry(route.to_string()).or_default();
        let seconds = took.as_secs_f64();
        of.count += 1;
        of.seconds += seconds;
        for (bucket, bound) in of.buckets.iter_mut().zip(BUCKETS) {
            *bucket += u64::from(seconds <= bound);
        }
    }

    /// All counts, with some that others know.
    #[must_use]
    pub fn text(&self, gauges: &[(&str, &str, u64)]) -> String {
        let mut out =
            String::from("# HELP muster_requests_total Requests answered.\n# TYPE muster_requests_total counter\n");
        for ((route, method, status), count) in self.requests.lock().unwrap_or_else(PoisonError::into_inner).iter() {
            let labels = format!("route=\"{route}\",method=\"{method}\",status=\"{status}\"");
            let _ = writeln!(out, "muster_requests_total{{{labels}}} {count}");
        }
        out.push_str("# HELP muster_request_seconds Time to answer.\n# TYPE muster_request_seconds histogram\n");
        for (route, times) in self.times.lock().unwrap_or_else(PoisonError::into_inner).iter() {
            for (count, bound) in times.buckets.iter().zip(BUCKETS) {
                let _ = writeln!(out, "muster_request_seconds_bucket{{route=\"{route}\",le=\"{bound}\"}} {count}");
            }
            let (count, seconds) = (times.count, times.seconds);
            let _ = writeln!(out, "muster_request_seconds_bucket{{route=\"{route}\",le=\"+Inf\"}} {count}");
            let _ = writeln!(out, "muster_request_seconds_sum{{route=\"{route}\"}} {seconds}");
            let _ = writeln!(out, "muster_request_seconds_count{{route=\"{route}\"}} {count}");
        }
        for (name, help, value) in gauges {
            let _ = writeln!(out, "# HELP {name} {help}\n# TYPE {name} gauge\n{name} {value}");
        }
        out
    }
}
