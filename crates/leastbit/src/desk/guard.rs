//! Who may talk to the desk: the reader who was given its address, from a
//! page of the desk itself, on this machine.

use std::sync::Arc;

use axum::extract::{Request, State};
use axum::http::header::{
    CACHE_CONTROL, CONTENT_SECURITY_POLICY, COOKIE, HOST, LOCATION, ORIGIN, REFERRER_POLICY,
    SET_COOKIE, X_CONTENT_TYPE_OPTIONS,
};
use axum::http::{HeaderMap, HeaderValue, Method, StatusCode};
use axum::middleware::Next;
use axum::response::{IntoResponse, Response};

/// Nothing from elsewhere, no script but the desk's own files, in no frame.
const POLICY: &str = "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self' data:; \
     connect-src 'self'; form-action 'self'; base-uri 'none'; frame-ancestors 'none'";

/// What a request must show.
#[derive(Clone, Debug)]
pub(super) struct Guard {
    inner: Arc<Inner>,
}

#[derive(Debug)]
struct Inner {
    secret: String,
    port: u16,
}

impl Guard {
    /// With a fresh secret.
    ///
    /// # Errors
    /// The system gives no random numbers.
    pub fn new(port: u16) -> Result<Guard, getrandom::Error> {
        let mut bytes = [0_u8; 24];
        getrandom::fill(&mut bytes)?;
        let secret = bytes.iter().map(|b| format!("{b:02x}")).collect();
        Ok(Guard {
            inner: Arc::new(Inner { secret, port }),
        })
    }

    /// The address that lets its reader in.
    pub fn door(&self) -> String {
        let Inner { secret, port } = &*self.inner;
        format!("http://127.0.0.1:{port}/?key={secret}")
    }

    /// Cookies are shared by all ports of a machine, so the name has the port.
    fn cookie_name(&self) -> String {
        format!("desk-{}", self.inner.port)
    }

    fn is_own_host(&self, host: &str) -> bool {
        let port = self.inner.port;
        host == format!("127.0.0.1:{port}") || host == format!("localhost:{port}")
    }

    fn has_cookie(&self, headers: &HeaderMap) -> bool {
        let wanted = format!("{}={}", self.cookie_name(), self.inner.secret);
        headers
            .get_all(COOKIE)
            .iter()
            .filter_map(|v| v.to_str().ok())
            .flat_map(|v| v.split(';'))
            .any(|c| same(c.trim(), &wanted))
    }

    /// Why a request is turned away, if it is.
    fn refuses(&self, method: &Method, headers: &HeaderMap) -> Option<&'static str> {
        // A name that somebody else's server gave to this address is no name
        // of the desk.
        let host = headers.get(HOST).and_then(|v| v.to_str().ok());
        if !host.is_some_and(|h| self.is_own_host(h)) {
            return Some("asked under a name that is not the desk's");
        }
        let origin = headers.get(ORIGIN).map(|v| v.to_str().unwrap_or("?"));
        let own_origin = |o: &str| {
            o.strip_prefix("http://")
                .is_some_and(|h| self.is_own_host(h))
        };
        if origin.is_some_and(|o| !own_origin(o)) {
            return Some("asked by a page from elsewhere");
        }
        let site = headers.get("sec-fetch-site").and_then(|v| v.to_str().ok());
        if *method != Method::GET && *method != Method::HEAD {
            if origin.is_none() && site != Some("same-origin") {
                return Some("asked by nobody who says where from");
            }
        } else if matches!(site, Some("cross-site"))
            && headers
                .get("sec-fetch-dest")
                .is_some_and(|d| d != "document")
        {
            return Some("asked by a page from elsewhere");
        }
        None
    }
}

/// Compares without telling by the time it takes how much is right.
fn same(a: &str, b: &str) -> bool {
    a.len() == b.len() && a.bytes().zip(b.bytes()).fold(0, |d, (x, y)| d | (x ^ y)) == 0
}

/// Turns away what is not the reader's, and seals what goes out.
pub(super) async fn check(State(guard): State<Guard>, request: Request, next: Next) -> Response {
    let key = request
        .uri()
        .query()
        .and_then(|q| q.split('&').find_map(|p| p.strip_prefix("key=")))
        .map(str::to_owned);
    let mut response = match guard.refuses(request.method(), request.headers()) {
        Some(reason) => (StatusCode::FORBIDDEN, reason).into_response(),
        None if key.as_deref().is_some_and(|k| same(k, &guard.inner.secret)) => {
            // The secret leaves the address at once.
            let cookie = format!(
                "{}={}; Path=/; HttpOnly; SameSite=Strict",
                guard.cookie_name(),
                guard.inner.secret
            );
            let there = request.uri().path().to_owned();
            let headers = [(SET_COOKIE, cookie), (LOCATION, there)];
            (StatusCode::SEE_OTHER, headers).into_response()
        }
        None if guard.has_cookie(request.headers()) => next.run(request).await,
        None => (
            StatusCode::FORBIDDEN,
            "the desk opens with the address that was printed when it started",
        )
            .into_response(),
    };
    let headers = response.headers_mut();
    for (name, value) in [
        (CONTENT_SECURITY_POLICY, POLICY),
        (X_CONTENT_TYPE_OPTIONS, "nosniff"),
        (REFERRER_POLICY, "no-referrer"),
    ] {
        headers.insert(name, HeaderValue::from_static(value));
    }
    headers
        .entry(CACHE_CONTROL)
        .or_insert(HeaderValue::from_static("no-store"));
    response
}

#[cfg(test)]
mod tests {
    use super::*;

    fn guard() -> Guard {
        Guard::new(4321).unwrap()
    }

    fn headers(list: &[(&'static str, &str)]) -> HeaderMap {
        let mut map = HeaderMap::new();
        for (name, value) in list {
            map.append(*name, HeaderValue::from_str(value).unwrap());
        }
        map
    }

    #[test]
    fn names_and_pages_from_elsewhere_are_turned_away() {
        let g = guard();
        let own = ("host", "127.0.0.1:4321");
        let none = |m: Method, list: &[(&'static str, &str)]| g.refuses(&m, &headers(list));
        assert!(none(Method::GET, &[own]).is_none());
        assert!(none(Method::GET, &[("host", "evil.example:4321")]).is_some());
        assert!(none(Method::GET, &[("host", "127.0.0.1:80")]).is_some());
        assert!(none(Method::GET, &[]).is_some());
        assert!(
            none(Method::POST, &[own]).is_some(),
            "a form from elsewhere"
        );
        assert!(none(Method::POST, &[own, ("origin", "http://127.0.0.1:4321")]).is_none());
        assert!(none(Method::POST, &[own, ("origin", "http://localhost:4321")]).is_none());
        for origin in [
            "null",
            "http://evil.example",
            "https://127.0.0.1:4321",
            "http://127.0.0.1:4322",
        ] {
            assert!(
                none(Method::POST, &[own, ("origin", origin)]).is_some(),
                "{origin}"
            );
        }
    }

    #[test]
    fn the_cookie_must_be_the_whole_secret() {
        let g = guard();
        let secret = g.inner.secret.clone();
        let with = |c: String| g.has_cookie(&headers(&[("cookie", c.as_str())]));
        assert!(with(format!("a=b; desk-4321={secret}")));
        assert!(!with(format!("desk-4321={}", &secret[1..])));
        assert!(!with(format!("desk-4320={secret}")));
        assert!(!with(String::new()));
        assert_eq!(secret.len(), 48);
        assert_ne!(secret, guard().inner.secret, "a new one every time");
    }
}
