//! The pages asked in-process, with the samples planned and a stopped clock.

mod records;

use std::collections::BTreeSet;

use axum::{
    Router,
    body::{Body, to_bytes},
    http::{Request, StatusCode, header},
    response::Response,
};
use jiff::Timestamp;
use store::Store;
use tokio_stream::StreamExt;
use tower::ServiceExt;

use super::router;
use crate::{
    command::serve::desk,
    desk::{Clock, Desk, Told},
    web::Authorities,
};

const HOST: &str = "localhost:4180";
const PORT: u16 = 4180;

/// A program with its own data folder.
///
/// A database in memory would be gone with the connection that is closed when a planner is stopped in the middle of a question.
struct Running {
    store: Store,
    router: Router,
    desk: Desk,
    /// Goes last.
    _folder: tempfile::TempDir,
}

impl Running {
    /// Starts, and waits until the plans of all samples and their days are there.
    async fn start() -> Self {
        let running = Self::start_unplanned().await;
        running.planned().await;
        running
    }

    async fn start_unplanned() -> Self {
        let folder = tempfile::tempdir().expect("a folder");
        let store = Store::open_folder(folder.path()).await.expect("a database");
        let now: Timestamp = "2027-02-16T12:00:00Z".parse().expect("a moment");
        let desk = desk(&store, Clock::Stopped(now)).await.expect("a desk");
        let router = router(desk.clone(), Authorities::of_loopback(([127, 0, 0, 1], PORT).into()));
        Self { store, router, desk, _folder: folder }
    }

    /// Plans what is missing until the days are placed.
    async fn planned(&self) {
        let mut news = self.desk.planner.listen();
        let changes = self.store.watch();
        let planning =
            self.desk.planner.clone().run(self.desk.store.clone(), changes, self.desk.clock);
        let planning = tokio::spawn(planning);
        while news.recv().await.expect("the planner goes on") != Told::Days {}
        planning.abort();
    }

    async fn ask(&self, request: Request<Body>) -> Response {
        self.router.clone().oneshot(request).await.expect("the router answers")
    }

    async fn get(&self, path: &str) -> Response {
        let request = Request::get(path).header(header::HOST, HOST);
        self.ask(request.body(Body::empty()).expect("a request")).await
    }

    async fn page(&self, path: &str) -> (StatusCode, String) {
        read(self.get(path).await).await
    }

    async fn post(&self, path: &str, kind: &str, body: Vec<u8>) -> Response {
        let request = Request::post(path)
            .header(header::HOST, HOST)
            .header("sec-fetch-site", "same-origin")
            .header(header::CONTENT_TYPE, kind);
        self.ask(request.body(Body::from(body)).expect("a request")).await
    }

    async fn send_form(&self, path: &str, form: &Form) -> Response {
        self.post(path, &format!("multipart/form-data; boundary={BOUNDARY}"), form.body()).await
    }

    /// The address of a sample's page.
    async fn order(&self, title: &str) -> String {
        let rows = self.desk.store.open_orders().await.expect("a list");
        let row = rows.iter().find(|row| row.heading.title == title).expect("the sample");
        format!("/orders/{}", row.id)
    }
}

async fn read(response: Response) -> (StatusCode, String) {
    let status = response.status();
    let bytes = to_bytes(response.into_body(), usize::MAX).await.expect("a body");
    (status, String::from_utf8_lossy(&bytes).into_owned())
}

const BOUNDARY: &str = "a-line-between";

/// A form as a browser sends it.
#[derive(Default)]
struct Form(Vec<(String, Option<String>, Vec<u8>)>);

impl Form {
    fn with(mut self, name: &str, value: &str) -> Self {
        self.0.push((name.to_owned(), None, value.as_bytes().to_vec()));
        self
    }

    fn file(mut self, name: &str, file: &str, content: &[u8]) -> Self {
        self.0.push((name.to_owned(), Some(file.to_owned()), content.to_vec()));
        self
    }

    fn body(&self) -> Vec<u8> {
        let mut body = Vec::new();
        for (name, file, content) in &self.0 {
            let file =
                file.as_ref().map(|file| format!("; filename=\"{file}\"")).unwrap_or_default();
            let head = format!(
                "--{BOUNDARY}\r\ncontent-disposition: form-data; name=\"{name}\"{file}\r\n\r\n"
            );
            body.extend_from_slice(head.as_bytes());
            body.extend_from_slice(content);
            body.extend_from_slice(b"\r\n");
        }
        body.extend_from_slice(format!("--{BOUNDARY}--\r\n").as_bytes());
        body
    }

    /// An order of plain rounds, with nothing wrong.
    fn rounds() -> Self {
        Self::default()
            .with("title", "Tea for <seven>")
            .with("customer", "nobody (invented)")
            .with("date", "2027-03-20")
            .with("time", "15:30")
            .with("must_have", "")
            .with("avoid", "nuts")
    }

    fn undrawn(self, row: usize, count: &str, cutter: &str) -> Self {
        self.with(&format!("count-{row}"), count)
            .with(&format!("cutter-{row}"), cutter)
            .with(&format!("detail-{row}"), "simple")
            .with(&format!("colors-{row}"), "#2f4666, #ffffff")
    }
}

fn location(response: &Response) -> String {
    assert_eq!(response.status(), StatusCode::SEE_OTHER);
    let location = response.headers().get(header::LOCATION).expect("a place to go");
    location.to_str().expect("plain text").to_owned()
}

#[tokio::test(flavor = "multi_thread")]
async fn a_page_that_missed_its_news_is_told_at_once() {
    let running = Running::start().await;
    let news = running.get("/progress?after=0").await;
    let first = news.into_body().into_data_stream().next().await.expect("there is news");
    assert!(first.expect("it is sent").starts_with(b"event: done"));
}

#[tokio::test(flavor = "multi_thread")]
async fn every_link_and_picture_of_every_page_answers() {
    let running = Running::start().await;
    let mut seen = BTreeSet::new();
    let mut ahead = vec!["/".to_owned()];
    while let Some(path) = ahead.pop() {
        if !seen.insert(path.clone()) {
            continue;
        }
        let response = running.get(&path).await;
        assert_eq!(response.status(), StatusCode::OK, "{path}");
        let kind = response.headers().get(header::CONTENT_TYPE).cloned().expect("a kind");
        let (_, text) = read(response).await;
        if !kind.as_bytes().starts_with(b"text/html") {
            assert!(!text.is_empty(), "{path}");
            continue;
        }
        let fragments = text.split(" id=\"").skip(1).filter_map(|rest| rest.split('"').next());
        let ids: BTreeSet<&str> = fragments.collect();
        for attribute in [" href=\"", " src=\""] {
            for rest in text.split(attribute).skip(1) {
                let target = rest.split('"').next().unwrap_or_default().replace("&amp;", "&");
                match target.strip_prefix('#') {
                    Some(id) => assert!(ids.contains(id), "{path}: {target}"),
                    None => {
                        assert!(target.starts_with('/'), "{path}: {target} leads elsewhere");
                        ahead.push(target.split('#').next().unwrap_or_default().to_owned());
                    }
                }
            }
        }
    }
    // Both samples with their chapters, papers and pictures.
    assert!(seen.len() > 100, "{}", seen.len());
    assert!(seen.iter().any(|path| path.contains("packet.pdf")));
}

#[tokio::test(flavor = "multi_thread")]
async fn every_answer_says_what_a_browser_may_do_with_it() {
    let running = Running::start_unplanned().await;
    let order = running.order("Lamp-lighting evening").await;
    for path in [
        "/",
        "/orders/new",
        "/kitchen",
        &order,
        "/nowhere",
        "/orders/behind",
        "/kitchen/kitchen.toml",
    ] {
        let response = running.get(path).await;
        let value = |name: &str| {
            let value = response.headers().get(name).and_then(|value| value.to_str().ok());
            value.unwrap_or_else(|| panic!("{path} has no {name}"))
        };
        let policy = value("content-security-policy");
        assert!(policy.starts_with("default-src 'none'"), "{path}");
        assert!(!policy.contains("unsafe"), "{path}");
        assert_eq!(value("x-content-type-options"), "nosniff", "{path}");
        assert_eq!(value("x-frame-options"), "DENY", "{path}");
        assert_eq!(value("referrer-policy"), "same-origin", "{path}");
        assert_eq!(value("cross-origin-opener-policy"), "same-origin", "{path}");
        assert_eq!(value("cross-origin-resource-policy"), "same-origin", "{path}");
        assert!(value("content-type").contains("charset=utf-8"), "{path}");
        let (_, text) = read(response).await;
        assert!(!text.contains(" style=") && !text.contains("<style"), "{path}: a style inside");
    }
}

#[tokio::test(flavor = "multi_thread")]
async fn other_hosts_and_other_sites_are_refused_and_change_nothing() {
    let running = Running::start_unplanned().await;
    let order = running.order("Lamp-lighting evening").await;
    let from = Request::get("/").header(header::HOST, "rebound.test:4180");
    let response = running.ask(from.body(Body::empty()).expect("a request")).await;
    assert_eq!(response.status(), StatusCode::MISDIRECTED_REQUEST);
    let before = running.desk.store.open_orders().await.expect("a list");
    let changes = ["events", "agree", "hand-over", "remove", "put-back", "change", "change/text"]
        .map(|what| format!("{order}/{what}"));
    let others = ["/orders/new", "/orders/new/folder", "/kitchen", "/kitchen/kitchen.toml"];
    for path in changes.iter().map(String::as_str).chain(others) {
        for (name, value) in [
            ("sec-fetch-site", "cross-site"),
            ("sec-fetch-site", "same-site"),
            ("origin", "null"),
            ("origin", "http://elsewhere.test"),
            ("x-nothing", "at all"),
        ] {
            let request = Request::post(path).header(header::HOST, HOST).header(name, value);
            let response = running.ask(request.body(Body::empty()).expect("a request")).await;
            assert_eq!(response.status(), StatusCode::FORBIDDEN, "{path} {name}: {value}");
        }
    }
    assert_eq!(running.desk.store.open_orders().await.expect("a list"), before);
}

#[tokio::test(flavor = "multi_thread")]
async fn an_order_without_drawing_is_written_down_planned_changed_removed_and_put_back() {
    let running = Running::start_unplanned().await;
    let form = Form::rounds().undrawn(0, "24", "round 82 mm").undrawn(1, "", "");
    let order = location(&running.send_form("/orders/new", &form).await);
    running.planned().await;
    let (status, page) = running.page(&order).await;
    assert_eq!(status, StatusCode::OK);
    assert!(page.contains("Tea for &lt;seven&gt;") && page.contains("24 cookies"), "{page}");
    assert!(page.contains("id=\"decorate\""));
    let packet = running.get(&format!("{order}/packet.pdf?paper=letter")).await;
    assert_eq!(packet.status(), StatusCode::OK);

    let (_, page) = running.page(&format!("{order}/change")).await;
    let revision =
        page.split("name=\"revision\" value=\"").nth(1).and_then(|rest| rest.split('"').next());
    let revision = revision.expect("the form names its state").to_owned();
    let changed = Form::rounds()
        .with("revision", &revision)
        .undrawn(0, "30", "heart 3.25 in")
        .with("was-0", "0");
    assert_eq!(location(&running.send_form(&format!("{order}/change"), &changed).await), order);
    let again = running.send_form(&format!("{order}/change"), &changed).await;
    assert_eq!(again.status(), StatusCode::CONFLICT, "the form saw an older state");

    let id = store::OrderId::parse(order.trim_start_matches("/orders/")).expect("an id");
    let revision = async || {
        let order = running.desk.store.order(&id).await.expect("the database answers");
        order.expect("it is there").revision.to_i64()
    };
    let kind = "application/x-www-form-urlencoded";
    let seen = format!("revision={}", revision().await).into_bytes();
    let removed = location(&running.post(&format!("{order}/remove"), kind, seen).await);
    let (_, page) = running.page(&removed).await;
    assert!(page.contains("Put it back"), "{page}");
    let seen = format!("revision={}", revision().await).into_bytes();
    assert_eq!(location(&running.post(&format!("{order}/put-back"), kind, seen).await), order);
}

#[tokio::test(flavor = "multi_thread")]
async fn a_note_that_cannot_be_read_is_refused_at_its_field_with_what_was_typed() {
    let running = Running::start_unplanned().await;
    let order = running.order("Lamp-lighting evening").await;
    let kind = "application/x-www-form-urlencoded";
    let noted = b"on=2026-11-25&what=deposit_paid&amount=ninety".to_vec();
    let response = running.post(&format!("{order}/events"), kind, noted).await;
    let (status, page) = read(response).await;
    assert_eq!(status, StatusCode::UNPROCESSABLE_ENTITY);
    assert!(page.contains("is no amount; write it like 93 or 93.50."), "{page}");
    assert!(page.contains("value=\"ninety\"") && page.contains("aria-invalid"), "{page}");
}

#[tokio::test(flavor = "multi_thread")]
async fn an_order_folder_comes_back_as_it_was_given_out() {
    let running = Running::start_unplanned().await;
    let order = running.order("Naming party for Zoë").await;
    let response = running.get(&format!("{order}/order.zip")).await;
    let zip = to_bytes(response.into_body(), usize::MAX).await.expect("a zip");
    let form = Form::default().file("folder", "order.zip", &zip);
    let copy = location(&running.send_form("/orders/new/folder", &form).await);
    let of = async |path: &str| {
        let id = store::OrderId::parse(path.trim_start_matches("/orders/")).expect("an id");
        running.desk.store.order(&id).await.expect("the database answers").expect("it is there")
    };
    let (first, second) = (of(&order).await, of(&copy).await);
    assert_eq!((first.brief, first.heading), (second.brief, second.heading));
    assert_eq!(first.designs.keys().collect::<Vec<_>>(), second.designs.keys().collect::<Vec<_>>());
}

/// A drawing with a size of its own.
const DRAWING: &str = r##"<svg xmlns="http://www.w3.org/2000/svg" width="60mm" height="60mm" viewBox="0 0 60 60"><circle id="disk" cx="30" cy="30" r="28" fill="#b23c2f"/></svg>"##;

#[tokio::test(flavor = "multi_thread")]
async fn what_is_wrong_is_said_at_its_field_and_what_was_typed_stays() {
    let running = Running::start_unplanned().await;
    let n_before = running.desk.store.open_orders().await.expect("a list").len();
    let sizeless = DRAWING.replace("width=\"60mm\" height=\"60mm\"", "");
    let entities =
        "<!DOCTYPE svg [<!ENTITY a \"aa\">]><svg xmlns=\"http://www.w3.org/2000/svg\">&a;</svg>";
    let drawn =
        |svg: &str| Form::rounds().with("count-0", "12").file("file-0", "disk.svg", svg.as_bytes());
    let without = |name: &str| {
        let Form(parts) = Form::rounds().undrawn(0, "12", "round 82 mm");
        Form(
            parts
                .into_iter()
                .map(|(field, file, content)| {
                    let content = if field == name { Vec::new() } else { content };
                    (field, file, content)
                })
                .collect(),
        )
    };
    for (form, at) in [
        (without("title"), "title"),
        (without("customer"), "customer"),
        (without("date"), "date"),
        (without("time"), "time"),
        (Form::rounds().undrawn(0, "some", "round 82 mm"), "count-0"),
        (Form::rounds().undrawn(0, "0", "round 82 mm"), "count-0"),
        (Form::rounds().undrawn(0, "12", "blob 30 mm"), "cutter-0"),
        (Form::rounds().undrawn(0, "12", "round"), "cutter-0"),
        (Form::rounds().undrawn(0, "12", ""), "cutter-0"),
        (Form::rounds().undrawn(0, "6", "round 8 cm").undrawn(1, "6", "round 8 cm"), "name-1"),
        (Form::rounds().with("count-0", ""), "count-0"),
        (drawn(&sizeless), "width-0"),
        (drawn("no drawing"), "file-0"),
        (drawn(""), "file-0"),
        (drawn(entities), "file-0"),
        (drawn(DRAWING).with("width-0", "wide"), "width-0"),
        (drawn(DRAWING).with("width-0", "4 m"), "width-0"),
    ] {
        let (status, page) = read(running.send_form("/orders/new", &form).await).await;
        assert_eq!(status, StatusCode::UNPROCESSABLE_ENTITY, "{at}");
        assert!(page.contains(&format!("id=\"{at}-wrong\"")), "nothing is said at {at}: {page}");
        if at != "title" {
            assert!(page.contains("value=\"Tea for &lt;seven&gt;\""), "{at}: the title is lost");
        }
    }
    let bad_zip = Form::default().file("folder", "order.zip", b"no zip");
    for form in [Form::default(), bad_zip] {
        let (status, page) = read(running.send_form("/orders/new/folder", &form).await).await;
        assert_eq!(status, StatusCode::UNPROCESSABLE_ENTITY);
        assert!(page.contains("id=\"folder-wrong\""), "{page}");
    }
    assert_eq!(running.desk.store.open_orders().await.expect("a list").len(), n_before);
}

#[tokio::test(flavor = "multi_thread")]
async fn a_drawing_that_was_sent_need_not_be_sent_again() {
    let running = Running::start_unplanned().await;
    let Form(mut parts) =
        Form::rounds().with("count-0", "12").file("file-0", "disk.svg", DRAWING.as_bytes());
    parts.retain(|(name, ..)| name != "title");
    let (status, page) = read(running.send_form("/orders/new", &Form(parts)).await).await;
    assert_eq!(status, StatusCode::UNPROCESSABLE_ENTITY);
    let held =
        page.split("name=\"held-0\" value=\"").nth(1).and_then(|rest| rest.split('"').next());
    let form = Form::rounds()
        .with("count-0", "12")
        .with("held-0", held.expect("the drawing is held"))
        .with("held-name-0", "disk");
    let order = location(&running.send_form("/orders/new", &form).await);
    running.planned().await;
    let (_, page) = running.page(&order).await;
    assert!(page.contains("12 × disk"), "{page}");
}

#[tokio::test(flavor = "multi_thread")]
async fn a_picture_made_of_pixels_is_taken_in_like_a_drawing_and_given_out_again() {
    let running = Running::start_unplanned().await;
    let png = papers::picture::to_png(DRAWING, 6.0, &[]).expect("a picture");
    let form = Form::rounds().with("count-0", "12").file("file-0", "disk.png", &png);
    let (status, page) = read(running.send_form("/orders/new", &form).await).await;
    assert_eq!(status, StatusCode::UNPROCESSABLE_ENTITY);
    assert!(page.contains("id=\"width-0-wrong\""), "{page}");
    let order = location(&running.send_form("/orders/new", &form.with("width-0", "60")).await);
    running.planned().await;
    let (_, page) = running.page(&order).await;
    assert!(page.contains("12 × disk"), "{page}");
    let response = running.get(&format!("{order}/order.zip")).await;
    let zip = to_bytes(response.into_body(), usize::MAX).await.expect("a zip");
    let folder = store::read_order_zip(&zip).expect("an order folder");
    assert_eq!(folder.drawings.get("disk"), Some(&png));
}

#[tokio::test(flavor = "multi_thread")]
async fn an_edited_drawing_keeps_the_choices_made_for_what_is_still_there() {
    let running = Running::start_unplanned().await;
    let store = &running.desk.store;
    let artwork = drawing::import(DRAWING.as_bytes(), &drawing::Fonts::none()).expect("a drawing");
    let choices = "[[section]]\nid = \"disk\"\ntechnique = \"stiff\"\n".to_owned();
    let design = store::NewDesign {
        name: "disk".to_owned(),
        source: DRAWING.as_bytes().to_vec(),
        artwork: drawing::document::write_artwork(&artwork),
        choices: choices.clone(),
    };
    let held = store.add_design(&design).await.expect("it is kept");
    let with_drawing = Form::rounds()
        .with("count-0", "12")
        .with("held-0", held.as_str())
        .with("held-name-0", "disk");
    let order = location(&running.send_form("/orders/new", &with_drawing).await);
    let id = store::OrderId::parse(order.trim_start_matches("/orders/")).expect("an id");
    let stored = async || store.order(&id).await.expect("an answer").expect("it is there");

    let edited = DRAWING.replace("id=\"disk\"", "id=\"path42\"").replace("r=\"28\"", "r=\"27\"");
    let changed = Form(with_drawing.0.clone())
        .with("revision", &stored().await.revision.to_i64().to_string())
        .with("was-0", "0")
        .file("file-0", "disk, later.svg", edited.as_bytes());
    assert_eq!(location(&running.send_form(&format!("{order}/change"), &changed).await), order);
    let designs = stored().await.designs;
    assert_eq!(designs.keys().collect::<Vec<_>>(), ["disk, later"]);
    let design = store.design(&designs["disk, later"]).await.expect("an answer");
    let design = design.expect("it is there");
    assert_eq!(design.choices, choices);
    assert!(design.artwork.contains("\"disk\"") && !design.artwork.contains("path42"));
}

#[tokio::test(flavor = "multi_thread")]
async fn the_kitchen_is_changed_by_its_form_and_refuses_what_makes_no_sense() {
    let running = Running::start_unplanned().await;
    let text = running.desk.kitchen().await.expect("a kitchen").settings.text;
    let send = async |text: &str| {
        let revision = running.desk.kitchen().await.expect("a kitchen").settings.revision.to_i64();
        let escaped: String = text.bytes().map(|byte| format!("%{byte:02x}")).collect();
        let body = format!("revision={revision}&kitchen={escaped}").into_bytes();
        running.post("/kitchen/kitchen.toml", "application/x-www-form-urlencoded", body).await
    };
    let changed = text.replace("week_cap = 72", "week_cap = 50");
    assert_ne!(changed, text);
    assert_eq!(location(&send(&changed).await), "/kitchen?saved=true");
    assert_eq!(running.desk.kitchen().await.expect("a kitchen").kitchen.week_cap, 50);
    let (status, page) = read(send("makers = 9").await).await;
    assert_eq!(status, StatusCode::UNPROCESSABLE_ENTITY);
    assert!(page.contains("9 is outside 1 to 3") && page.contains("makers = 9"), "{page}");
    assert_eq!(running.desk.kitchen().await.expect("a kitchen").kitchen.week_cap, 50);
}

#[tokio::test(flavor = "multi_thread")]
async fn an_agreed_plan_stays_whatever_is_changed_later() {
    let running = Running::start().await;
    let order = running.order("Lamp-lighting evening").await;
    let id = store::OrderId::parse(order.trim_start_matches("/orders/")).expect("an id");
    let stored = async || {
        running.desk.store.order(&id).await.expect("the database answers").expect("it is there")
    };
    let kind = "application/x-www-form-urlencoded";
    let seen = format!("revision={}", stored().await.revision.to_i64()).into_bytes();
    location(&running.post(&format!("{order}/agree"), kind, seen).await);
    let kept = stored().await.kept_plan.expect("the plan is kept");
    // Another kitchen, another plan: the agreed one stays and the other one is proposed.
    let settings = running.desk.kitchen().await.expect("a kitchen").settings;
    let text = settings.text.replace("week_cap = 72", "week_cap = 50");
    running.desk.store.save_settings(&text, Some(settings.revision)).await.expect("saved");
    running.planned().await;
    let (_, page) = running.page(&order).await;
    assert!(page.contains("This is the plan that was agreed"), "{page}");
    assert_eq!(stored().await.kept_plan, Some(kept));
    let (_, page) = running.page(&format!("{order}?newer=true")).await;
    assert!(page.contains("Keep this one from now on"), "{page}");
}
