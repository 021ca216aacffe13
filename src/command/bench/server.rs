//! The server: connections, their bounds, and the headers of every answer.

use std::convert::Infallible;
use std::net::TcpListener;
use std::sync::Arc;
use std::time::Duration;

use http_body_util::{BodyExt, Full, Limited};
use hyper::body::{Bytes, Incoming};
use hyper::header::{self, HeaderMap, HeaderName, HeaderValue};
use hyper::http::request::Parts;
use hyper::server::conn::http1;
use hyper::service::service_fn;
use hyper::{Method, Request, Response, StatusCode};
use hyper_util::rt::{TokioIo, TokioTimer};

use super::answer::{Answer, Ask};
use super::desk::Desk;
use super::guard::Guard;
use super::people::People;
use super::places::{Asked, Place, Places};
use crate::command::Failure;

/// How long a browser may take for the head of a request, and for its body.
const LONGEST_WAIT: Duration = Duration::from_secs(20);

/// How often the folder is looked at for what others have changed.
const LOOK: Duration = Duration::from_secs(1);

/// Nothing is loaded but the embedded files, nothing runs in a page but the script among them, and no other page shows ours.
const POLICY: &str = "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self'; connect-src 'self'; \
                      form-action 'self'; base-uri 'none'; frame-ancestors 'none'";

/// What every answer says.
const HEADERS: [(HeaderName, &str); 6] = [
    (header::CONTENT_SECURITY_POLICY, POLICY),
    (header::X_CONTENT_TYPE_OPTIONS, "nosniff"),
    (header::REFERRER_POLICY, "same-origin"),
    (header::CACHE_CONTROL, "no-store"),
    (HeaderName::from_static("cross-origin-opener-policy"), "same-origin"),
    (HeaderName::from_static("cross-origin-resource-policy"), "same-origin"),
];

/// All that answers are made of.
pub(super) struct Shop {
    pub(super) desk: Desk,
    pub(super) guard: Guard,
    pub(super) people: People,
    /// How much each address of a network asks; on this machine everybody may ask as much as they like.
    pub(super) asked: Option<Asked>,
}

/// Serves until the program is ended.
pub(super) fn serve(listener: TcpListener, shop: Arc<Shop>) -> Result<(), Failure> {
    let failed = |error: std::io::Error| Failure(format!("cannot serve: {error}"));
    listener.set_nonblocking(true).map_err(failed)?;
    let runtime =
        tokio::runtime::Builder::new_multi_thread().worker_threads(2).enable_all().build().map_err(failed)?;
    runtime.block_on(async {
        let listener = tokio::net::TcpListener::from_std(listener).map_err(failed)?;
        let watching = Arc::clone(&shop);
        drop(tokio::task::spawn_blocking(move || watch(&watching)));
        let places = Arc::new(Places::default());
        loop {
            let (stream, peer) = match listener.accept().await {
                Ok((stream, peer)) => (stream, peer.ip()),
                // Too many files are open, or a browser went away: the next one is waited for.
                Err(_) => {
                    tokio::time::sleep(Duration::from_millis(50)).await;
                    continue;
                }
            };
            let shop = Arc::clone(&shop);
            let place = places.take(peer).await;
            let task = Arc::clone(&place);
            let serving = tokio::spawn(async move {
                let busy = Arc::clone(&task);
                let service =
                    service_fn(move |request| answer(Arc::clone(&shop), Arc::clone(&busy), request));
                let mut connection = http1::Builder::new();
                connection.timer(TokioTimer::new()).header_read_timeout(LONGEST_WAIT).max_buf_size(64 * 1024);
                // A browser that went away needs no answer.
                let _ = connection.serve_connection(TokioIo::new(stream), service).await;
                drop(task);
            });
            place.is_served_by(serving.abort_handle());
        }
    })
}

/// Keeps what is known of the folder up to date.
fn watch(shop: &Shop) {
    loop {
        std::thread::sleep(LOOK);
        // An error of the program in one look must not be the end of all: the next one may go well.
        let _ = std::panic::catch_unwind(std::panic::AssertUnwindSafe(|| shop.desk.look()));
    }
}

async fn answer(
    shop: Arc<Shop>,
    place: Arc<Place>,
    request: Request<Incoming>,
) -> Result<Response<Full<Bytes>>, Infallible> {
    let (head, body) = request.into_parts();
    let too_much = shop.asked.as_ref().filter(|asked| !asked.allows(place.peer));
    let refused = match too_much {
        Some(_) => Some(Answer::refused(StatusCode::TOO_MANY_REQUESTS, "too many requests")),
        None => refusal(&shop.guard, &head),
    };
    let encodings = text(&head.headers, &header::ACCEPT_ENCODING);
    let is_packed = encodings.split(',').any(|one| one.trim() == PACKED);
    let answer = match refused {
        Some(refused) => refused,
        None => {
            let longest = shop.longest_body(head.uri.path(), &text(&head.headers, &header::COOKIE));
            let read = tokio::time::timeout(LONGEST_WAIT, Limited::new(body, longest).collect()).await;
            match read {
                Ok(Ok(body)) => {
                    let ask = Ask {
                        is_post: head.method == Method::POST,
                        path: head.uri.path().to_owned(),
                        query: head.uri.query().unwrap_or_default().to_owned(),
                        cookies: text(&head.headers, &header::COOKIE),
                        token: text(&head.headers, &HeaderName::from_static("x-bench-token")),
                        languages: text(&head.headers, &header::ACCEPT_LANGUAGE),
                        body: body.to_bytes().to_vec(),
                    };
                    let _busy = place.busy();
                    let made = tokio::task::spawn_blocking(move || shop.answer(&ask)).await;
                    made.unwrap_or_else(|_| {
                        Answer::refused(StatusCode::INTERNAL_SERVER_ERROR, "internal error")
                    })
                }
                Ok(Err(_)) => Answer::refused(StatusCode::PAYLOAD_TOO_LARGE, "too large"),
                Err(_) => Answer::refused(StatusCode::REQUEST_TIMEOUT, "too slow"),
            }
        }
    };
    Ok(response(if is_packed { packed(answer) } else { answer }))
}

/// The encoding of packed answers, as HTTP names it.
const PACKED: &str = "deflate";

/// Shorter answers are sent as they are.
const WORTH_PACKING: usize = 1024;

/// An answer made short for a slow network: a page of many screws says much of the same.
fn packed(answer: Answer) -> Answer {
    if answer.body.len() < WORTH_PACKING {
        return answer;
    }
    let body = miniz_oxide::deflate::compress_to_vec_zlib(&answer.body, 4);
    let mut headers = answer.headers;
    headers.push((header::CONTENT_ENCODING, PACKED.to_owned()));
    headers.push((header::VARY, "accept-encoding".to_owned()));
    Answer { body, headers, ..answer }
}

fn text(headers: &HeaderMap, name: &HeaderName) -> String {
    headers.get(name).and_then(|value| value.to_str().ok()).unwrap_or_default().to_owned()
}

/// What a request says once: of two, another program on the way might take the other one.
const ONCE: [HeaderName; 5] = [
    header::HOST,
    header::ORIGIN,
    header::COOKIE,
    header::CONTENT_LENGTH,
    HeaderName::from_static("x-bench-token"),
];

/// Refuses what no page of this server asks.
fn refusal(guard: &Guard, head: &Parts) -> Option<Answer> {
    let (method, headers) = (&head.method, &head.headers);
    let is_twice = |name: &HeaderName| headers.get_all(name).iter().nth(1).is_some();
    // A browser asks a server for a path; whole addresses are for those who pass requests on.
    if head.uri.scheme().is_some() || head.uri.authority().is_some() || ONCE.iter().any(is_twice) {
        return Some(Answer::refused(StatusCode::BAD_REQUEST, "this request was not understood"));
    }
    if !guard.is_host(&text(headers, &header::HOST)) {
        return Some(Answer::refused(StatusCode::MISDIRECTED_REQUEST, "this server has another address"));
    }
    if ![Method::GET, Method::HEAD, Method::POST].contains(method) {
        return Some(Answer::refused(StatusCode::METHOD_NOT_ALLOWED, "not allowed"));
    }
    let origin = text(headers, &header::ORIGIN);
    let is_foreign = !origin.is_empty() && !guard.is_origin(&origin);
    if is_foreign || (*method == Method::POST && origin.is_empty()) {
        return Some(Answer::refused(StatusCode::FORBIDDEN, "this comes from another page"));
    }
    None
}

fn response(answer: Answer) -> Response<Full<Bytes>> {
    let mut response = Response::new(Full::new(Bytes::from(answer.body)));
    *response.status_mut() = answer.status;
    let headers = response.headers_mut();
    for (name, value) in HEADERS {
        headers.insert(name, HeaderValue::from_static(value));
    }
    headers.insert(header::CONTENT_TYPE, HeaderValue::from_static(answer.kind));
    for (name, value) in answer.headers {
        if let Ok(value) = HeaderValue::from_str(&value) {
            headers.insert(name, value);
        }
    }
    response
}
