//! Addresses of the desk and what answers there.

use std::convert::Infallible;
use std::sync::Arc;
use std::time::Duration;

use axum::extract::{DefaultBodyLimit, Form, Path, Query, State};
use axum::http::StatusCode;
use axum::http::header::{CACHE_CONTROL, CONTENT_TYPE};
use axum::response::sse::{Event, KeepAlive, Sse};
use axum::response::{Html, IntoResponse, Redirect, Response};
use axum::routing::{get, post};
use axum::{Router, middleware};
use maud::{Markup, html};
use serde::Deserialize;
use tokio_stream::StreamExt as _;
use tokio_stream::wrappers::WatchStream;

use super::guard::{self, Guard};
use super::page::{self, Place};
use super::session::Session;
use super::{board, channel, start, text};

/// Largest text sent back: that of the largest file.
const LARGEST_BODY: usize = 5 << 20;

type Shared = State<Arc<Session>>;

/// Everything the desk answers.
pub(super) fn routes(session: Arc<Session>, guard: Guard) -> Router {
    Router::new()
        .route("/", get(board_page))
        .route("/start", get(start_page))
        .route("/text", get(text_page))
        .route("/channel/{name}", get(channel_page))
        .route("/explain/{id}", get(explain_page))
        .route("/part/", get(board_part))
        .route("/part/start", get(start_part))
        .route("/part/text", get(|| async { StatusCode::NO_CONTENT }))
        .route("/part/channel/{name}", get(channel_part))
        .route("/part/file", get(file_part))
        .route("/part/faults", get(faults_part))
        .route("/part/changes", get(changes_part))
        .route("/part/budget/{name}", get(budget_part))
        .route("/part/picture/{kind}/{name}", get(picture_part))
        .route("/events", get(events))
        .route("/draft", get(draft).post(change))
        .route("/nudge", post(nudge))
        .route("/undo", post(undo))
        .route("/redo", post(redo))
        .route("/save", post(save))
        .route("/save-as", post(save_as))
        .route("/theirs", post(theirs))
        .route("/open", post(open))
        .route("/new", post(new))
        .route("/style.css", get(style))
        .route(
            "/htmx.js",
            get(|| script(include_str!("assets/htmx.min.js"))),
        )
        .route("/desk.js", get(|| script(include_str!("assets/desk.js"))))
        .fallback(|| async { (StatusCode::NOT_FOUND, "there is no such page") })
        .layer(DefaultBodyLimit::max(LARGEST_BODY))
        .layer(middleware::from_fn_with_state(guard, guard::check))
        .with_state(session)
}

fn shown(m: Markup) -> Html<String> {
    Html(m.into_string())
}

fn missing() -> Response {
    (StatusCode::NOT_FOUND, "the board has no such channel").into_response()
}

async fn board_page(State(s): Shared) -> Response {
    let desk = s.now();
    if !desk.is_open() {
        return Redirect::to("/start").into_response();
    }
    let inner = board::view(&desk);
    shown(page::whole(Place::Board, &desk, &desk.name(), &inner)).into_response()
}

async fn board_part(State(s): Shared) -> Html<String> {
    shown(board::view(&s.now()))
}

async fn start_page(State(s): Shared) -> Html<String> {
    let desk = s.now();
    let inner = start::view(&desk, s.library());
    shown(page::whole(Place::Start, &desk, "Boards", &inner))
}

/// The start page does not change under its reader's hands.
async fn start_part() -> StatusCode {
    StatusCode::NO_CONTENT
}

async fn text_page(State(s): Shared) -> Html<String> {
    let desk = s.now();
    let inner = text::view(&desk);
    shown(page::whole(Place::Text, &desk, &desk.name(), &inner))
}

async fn channel_page(State(s): Shared, Path(name): Path<String>) -> Response {
    let desk = s.now();
    match channel::view(&desk, &name) {
        Some(inner) => {
            shown(page::whole(Place::Channel(&name), &desk, &name, &inner)).into_response()
        }
        None => missing(),
    }
}

async fn channel_part(State(s): Shared, Path(name): Path<String>) -> Response {
    match channel::view(&s.now(), &name) {
        Some(inner) => shown(inner).into_response(),
        None => {
            shown(html! { p { "The board has no channel " (name) " any more." } }).into_response()
        }
    }
}

async fn explain_page(State(s): Shared, Path(id): Path<String>) -> Response {
    let Some(kind) = verdict::kinds().find(|k| k.id == id) else {
        return (StatusCode::NOT_FOUND, "there is no such finding").into_response();
    };
    let inner = html! {
        p { code { (kind.id) } " · " (kind.severity.word()) }
        (markdown(kind.explanation))
    };
    shown(page::whole(Place::Start, &s.now(), kind.title, &inner)).into_response()
}

/// The few forms that pages on findings are written in: headings, lists and
/// paragraphs.
fn markdown(source: &str) -> Markup {
    html! {
        @for block in source.split("\n\n").map(str::trim).filter(|b| !b.is_empty()) {
            @if let Some(h) = block.strip_prefix("## ") { h2 { (h) } }
            @else if let Some(h) = block.strip_prefix("# ") { h1 { (h) } }
            @else if block.starts_with("- ") {
                ul { @for item in block.split("\n- ") { li { (item.trim_start_matches("- ").replace('`', "")) } } }
            } @else if block.starts_with("```") { pre { (block.trim_matches('`')) } }
            @else { p { (block.replace('`', "").replace("**", "")) } }
        }
    }
}

async fn file_part(State(s): Shared) -> Html<String> {
    shown(page::file(&s.now()))
}

async fn faults_part(State(s): Shared) -> Html<String> {
    shown(page::faults(&s.now()))
}

async fn changes_part(State(s): Shared) -> Html<String> {
    shown(text::changes(&s.now()))
}

/// Runs what takes long where it holds up nobody.
async fn aside<T: Send + 'static>(
    work: impl FnOnce() -> T + Send + 'static,
) -> Result<T, Response> {
    tokio::task::spawn_blocking(work).await.map_err(|_| {
        (
            StatusCode::INTERNAL_SERVER_ERROR,
            "this could not be worked out",
        )
            .into_response()
    })
}

async fn budget_part(State(s): Shared, Path(name): Path<String>) -> Response {
    let Some(results) = s.now().draft.results else {
        return missing();
    };
    let worked =
        aside(move || verdict::budget(&results.board, &name, &results.sources, &|_| {})).await;
    match worked {
        Ok(Ok(b)) => shown(channel::budget(&b)).into_response(),
        Ok(Err(_)) => missing(),
        Err(response) => response,
    }
}

async fn picture_part(State(s): Shared, Path((kind, name)): Path<(String, String)>) -> Response {
    let Some(results) = s.now().draft.results else {
        return missing();
    };
    let worked = aside(move || {
        let board = &results.board;
        let sheet = match kind.as_str() {
            "response" => draw::response(&verdict::response(board, Some(&name), &[]).ok()?),
            "noise" => draw::noise(&verdict::noise(board, Some(&name), &results.sources).ok()?),
            "schedule" => draw::schedule(&verdict::schedule(board)),
            "links" => draw::links(&verdict::links(board, &results.sources)),
            "rails" => draw::rails(&verdict::rails(board, &results.sources)),
            _ => return None,
        };
        Some(sheet.inline().svg())
    })
    .await;
    match worked {
        Ok(Some(svg)) => Html(svg).into_response(),
        Ok(None) => missing(),
        Err(response) => response,
    }
}

/// Tells pages when they are behind.
async fn events(
    State(s): Shared,
) -> Sse<impl tokio_stream::Stream<Item = Result<Event, Infallible>>> {
    let stream = WatchStream::new(s.follow()).map(|n| Ok(Event::default().data(n.to_string())));
    Sse::new(stream).keep_alive(KeepAlive::new().interval(Duration::from_secs(15)))
}

async fn draft(State(s): Shared) -> impl IntoResponse {
    (
        [(CONTENT_TYPE, "text/plain; charset=utf-8")],
        s.now().draft.text,
    )
}

#[derive(Deserialize)]
struct Text {
    text: String,
}

async fn change(State(s): Shared, Form(f): Form<Text>) -> StatusCode {
    // Forms send lines as mail does.
    s.change(f.text.replace("\r\n", "\n"));
    StatusCode::NO_CONTENT
}

#[derive(Deserialize)]
struct Nudge {
    path: String,
    #[serde(default)]
    value: Option<String>,
    #[serde(default)]
    step: Option<String>,
}

async fn nudge(State(s): Shared, Form(n): Form<Nudge>) -> Response {
    let value = match (n.value, n.step) {
        (Some(value), _) => value,
        (None, Some(step)) => {
            let text = s.now().draft.text;
            let listed = ::board::listed(&text, &n.path);
            let stepped = listed
                .first()
                .and_then(|v| verdict::nudged(&v.text, v.quoted, step == "up"));
            match stepped {
                Some(value) => value,
                None => return said(StatusCode::UNPROCESSABLE_ENTITY, "this value has no step"),
            }
        }
        (None, None) => return said(StatusCode::UNPROCESSABLE_ENTITY, "no value was sent"),
    };
    match s.set(&n.path, &value) {
        Ok(()) => value.into_response(),
        Err(message) => said(StatusCode::UNPROCESSABLE_ENTITY, &message),
    }
}

fn said(status: StatusCode, message: &str) -> Response {
    (status, message.to_owned()).into_response()
}

async fn undo(State(s): Shared) -> StatusCode {
    s.step(true);
    StatusCode::NO_CONTENT
}

async fn redo(State(s): Shared) -> StatusCode {
    s.step(false);
    StatusCode::NO_CONTENT
}

#[derive(Deserialize)]
struct Over {
    #[serde(default)]
    over: Option<String>,
}

async fn save(State(s): Shared, Query(q): Query<Over>) -> Html<String> {
    let over = q.over.as_deref() == Some("yes");
    match aside(move || s.save(over)).await {
        Ok(Ok(())) => shown(html! { "Saved." }),
        Ok(Err(message)) => shown(html! { (message) }),
        Err(_) => shown(html! { "Nothing was written." }),
    }
}

#[derive(Deserialize)]
struct Named {
    name: String,
}

async fn save_as(State(s): Shared, Form(f): Form<Named>) -> Html<String> {
    match aside(move || s.save_as(f.name.trim())).await {
        Ok(Ok(())) => shown(html! { "Saved." }),
        Ok(Err(message)) => shown(html! { (message) }),
        Err(_) => shown(html! { "Nothing was written." }),
    }
}

async fn theirs(State(s): Shared) -> StatusCode {
    s.take_theirs();
    StatusCode::NO_CONTENT
}

#[derive(Deserialize)]
struct Demonstration {
    demonstration: String,
}

async fn open(State(s): Shared, Form(f): Form<Demonstration>) -> Response {
    let found = start::DEMONSTRATIONS
        .iter()
        .find(|(name, ..)| *name == f.demonstration);
    let Some((.., text)) = found else {
        return said(
            StatusCode::NOT_FOUND,
            "there is no such demonstration board",
        );
    };
    if s.now().is_changed() && s.now().path.is_some() {
        return said(
            StatusCode::CONFLICT,
            "there are changes on the desk that are not saved: save them or take them back first",
        );
    }
    s.begin((*text).to_owned());
    Redirect::to("/").into_response()
}

#[derive(Deserialize)]
struct NewBoard {
    controller: String,
    sensors: String,
}

async fn new(State(s): Shared, Form(f): Form<NewBoard>) -> Response {
    if s.now().is_changed() && s.now().path.is_some() {
        return said(
            StatusCode::CONFLICT,
            "there are changes on the desk that are not saved: save them or take them back first",
        );
    }
    let session = Arc::clone(&s);
    let made = aside(move || {
        let wishes: Vec<starter::Wish> = f
            .sensors
            .lines()
            .map(str::trim)
            .filter(|l| !l.is_empty())
            .map(starter::Wish::read)
            .collect();
        starter::starter(
            session.library(),
            "new board",
            &f.controller,
            &wishes,
            starter::Effort::default(),
            &|_| {},
        )
    })
    .await;
    match made {
        Ok(Ok(made)) => {
            s.begin(made.text);
            Redirect::to("/").into_response()
        }
        Ok(Err(fault)) => said(
            StatusCode::UNPROCESSABLE_ENTITY,
            &format!("{}. Expected: {}", fault.message, fault.expected),
        ),
        Err(response) => response,
    }
}

async fn style() -> impl IntoResponse {
    let css = format!("{}{}", draw::style(), include_str!("assets/style.css"));
    (
        [
            (CONTENT_TYPE, "text/css; charset=utf-8"),
            (CACHE_CONTROL, "private, max-age=3600"),
        ],
        css,
    )
}

async fn script(text: &'static str) -> impl IntoResponse {
    (
        [
            (CONTENT_TYPE, "text/javascript; charset=utf-8"),
            (CACHE_CONTROL, "private, max-age=3600"),
        ],
        text,
    )
}
