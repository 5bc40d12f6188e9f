//! Who may ask for anything at all.
//!
//! The server listens on this machine only, but every page in the person's browser can reach it too. So the
//! address must name this machine (no foreign name can be made to point here unseen), no other site may ask on
//! its own behalf or the person's, and nothing may be embedded elsewhere.

use axum::body::Body;
use axum::extract::{Request, State};
use axum::http::{HeaderMap, HeaderName, HeaderValue, StatusCode, header};
use axum::middleware::Next;
use axum::response::{IntoResponse, Response};

/// Lets a request through, or answers it with what is wrong; adds what every answer must carry.
pub async fn guard(State(port): State<u16>, request: Request<Body>, next: Next) -> Response {
    if let Some((status, why)) = refusal(request.headers(), port) {
        return (status, why).into_response();
    }
    let mut answer = next.run(request).await;
    let headers = answer.headers_mut();
    for (name, value) in ALWAYS {
        headers.insert(name, HeaderValue::from_static(value));
    }
    if let Ok(policy) = HeaderValue::from_str(&content_policy(port)) {
        headers.insert(header::CONTENT_SECURITY_POLICY, policy);
    }
    answer
}

const ALWAYS: [(HeaderName, &str); 7] = [
    (header::X_CONTENT_TYPE_OPTIONS, "nosniff"),
    (header::CACHE_CONTROL, "no-store"),
    (header::REFERRER_POLICY, "no-referrer"),
    (header::X_FRAME_OPTIONS, "DENY"),
    (
        HeaderName::from_static("cross-origin-resource-policy"),
        "same-origin",
    ),
    (
        HeaderName::from_static("cross-origin-opener-policy"),
        "same-origin",
    ),
    (
        HeaderName::from_static("permissions-policy"),
        "camera=(self), microphone=(), geolocation=()",
    ),
];

/// Nothing from elsewhere, nothing inline, no frame around it.
fn content_policy(port: u16) -> String {
    format!(
        "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self' blob: data:; \
         media-src 'self' blob:; connect-src 'self' ws://127.0.0.1:{port} ws://localhost:{port}; \
         base-uri 'none'; form-action 'none'; frame-ancestors 'none'"
    )
}

/// What speaks against a request.
pub(super) fn refusal(headers: &HeaderMap, port: u16) -> Option<(StatusCode, &'static str)> {
    let text = |name: &HeaderName| {
        headers
            .get(name)
            .map(|value| value.to_str().unwrap_or("unreadable"))
    };
    let hosts = [format!("127.0.0.1:{port}"), format!("localhost:{port}")];
    let is_ours = |host: &str| hosts.iter().any(|ours| ours == host);
    if !text(&header::HOST).is_some_and(is_ours) {
        return Some((
            StatusCode::MISDIRECTED_REQUEST,
            "this server answers to 127.0.0.1 and localhost only",
        ));
    }
    let is_foreign = |origin: &str| !origin.strip_prefix("http://").is_some_and(is_ours);
    if text(&header::ORIGIN).is_some_and(is_foreign) {
        return Some((StatusCode::FORBIDDEN, "another site may not ask here"));
    }
    let fetch_site = HeaderName::from_static("sec-fetch-site");
    if text(&fetch_site).is_some_and(|site| site != "same-origin" && site != "none") {
        return Some((StatusCode::FORBIDDEN, "another site may not ask here"));
    }
    None
}
