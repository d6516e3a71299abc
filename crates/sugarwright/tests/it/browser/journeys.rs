//! From the first start to the packet, from drawings of one's own to the packet, and what happens on bad input.

use std::fs;

use jiff::{ToSpan, civil::Date};

use super::{
    driver::{Browser, LAPTOP, PHONE, Screen, Scripts, TABLET},
    look::Findings,
    served::Served,
};
use crate::program::scratch;

#[tokio::test]
async fn every_journey_ends_well_on_a_phone() {
    go_on_every_journey(PHONE).await;
}

#[tokio::test]
async fn every_journey_ends_well_on_a_tablet() {
    go_on_every_journey(TABLET).await;
}

#[tokio::test]
async fn every_journey_ends_well_on_a_laptop() {
    go_on_every_journey(LAPTOP).await;
}

/// Goes on every journey, one after the other, as on one day with a new program.
async fn go_on_every_journey(screen: Screen) {
    let Some(browser) = Browser::start(screen, Scripts::Run).await else { return };
    let mut findings = Findings::new();
    let served = Served::start();
    from_first_start_to_packet(&browser, &served, &mut findings).await;
    from_own_drawings_to_packet(&browser, &served, &mut findings).await;
    without_a_drawing(&browser, &served, &mut findings).await;
    with_a_bad_drawing(&browser, &served, &mut findings).await;
    with_a_bowl_that_is_too_thick(&browser, &served, &mut findings).await;
    with_a_request(&browser, &served, &mut findings).await;
    through_the_other_pages(&browser, &served, &mut findings).await;
    findings.must_be_none();
}

/// The chapters of a planned order.
const CHAPTERS: [&str; 9] =
    ["cut", "bake", "ice", "decorate", "days", "price", "label", "pack", "papers"];

/// Says of an order page that its plan and its days are there.
const PLANNED: &str = "body:not(:has([data-progress])) nav.contents";

async fn from_first_start_to_packet(browser: &Browser, served: &Served, findings: &mut Findings) {
    browser.open(&served.at("/")).await;
    // In one question, because the page may load itself again at any moment.
    let first = browser
        .run(
            "const waits = document.querySelector('section.pickups[data-progress]') !== null;
            return [document.querySelector('main').innerText, waits];",
        )
        .await;
    assert_eq!(first[1], true, "plans are being made");
    let pickups = first[0].as_str().expect("a page has words");
    for useful in ["Pickups ahead", "Write down an order", "Lamp-lighting evening", "Naming party"]
    {
        assert!(pickups.contains(useful), "{useful} while plans are made: {pickups}");
    }
    // The page itself shows the plans: it is not opened again here.
    browser.wait_for("section.pickups:not([data-progress])").await;
    findings.look(browser, "orders", None).await;

    browser.click("section.pickups ol a[href^='/orders/']").await;
    browser.wait_for(PLANNED).await;
    for chapter in CHAPTERS {
        assert!(!browser.words(&format!("#{chapter}")).await.is_empty(), "{chapter}");
    }
    findings.look(browser, "order", None).await;
    check_packet(browser).await;
}

/// Fetches the packet of the order that is shown.
async fn check_packet(browser: &Browser) {
    const FETCH: &str = "
        const [address, done] = arguments;
        fetch(address).then(async (answer) => {
          const bytes = new Uint8Array(await answer.arrayBuffer());
          done([answer.status, String.fromCharCode(...bytes.slice(0, 5)), bytes.length]);
        }, (error) => done([0, String(error), 0]));
    ";
    let link = browser.find("a[href*='/packet.pdf']").await;
    let address = link.attr("href").await.expect("a link").expect("it leads somewhere");
    let fetched = browser.run_to_the_end(FETCH, vec![address.into()]).await;
    assert_eq!((&fetched[0], &fetched[1]), (&200.into(), &"%PDF-".into()), "{fetched}");
    assert!(fetched[2].as_u64() > Some(10_000), "a packet is no empty page: {fetched}");
}

/// Fills in what an order is for and when it is picked up, four weeks after the day the page says it is.
async fn fill_brief(browser: &Browser, served: &Served, title: &str) -> Date {
    browser.open(&served.at("/orders/new")).await;
    let hint = browser.words("#date-hint").await;
    let today = hint.trim_start_matches("Today is ").trim_end_matches('.');
    let today = Date::strptime("%A %d %B %Y", today).expect("the page says which day it is");
    let pickup = today.checked_add(4.weeks()).expect("there is a day in four weeks");
    browser.fill("#title", title).await;
    browser.fill("#customer", "nobody (invented)").await;
    // As a person types them where the month comes first and the clock has twelve hours.
    browser.fill("#date", &pickup.strftime("%m%d%Y").to_string()).await;
    browser.fill("#time", "0330PM").await;
    pickup
}

/// Sends the form of an order.
async fn write_down(browser: &Browser) {
    browser.click("button.act.main[type=submit]").await;
}

async fn from_own_drawings_to_packet(browser: &Browser, served: &Served, findings: &mut Findings) {
    // Invented drawings, one with a size of its own and one without.
    const LEAF: &str = r##"<svg xmlns="http://www.w3.org/2000/svg" width="70mm" height="50mm" viewBox="0 0 70 50"><path id="leaf" d="M2 25 Q35 -10 68 25 Q35 60 2 25Z" fill="#4f7d4a"/><path id="vein" d="M12 24 L58 24 L58 26 L12 26Z" fill="#f4f1e4"/></svg>"##;
    const DISK: &str = r##"<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 60 60"><circle id="disk" cx="30" cy="30" r="28" fill="#b23c2f"/><circle id="middle" cx="30" cy="30" r="12" fill="#f4f1e4"/></svg>"##;
    let folder = scratch();
    let file = |name: &str, drawing: &str| {
        let path = folder.path().join(name);
        fs::write(&path, drawing).expect("the drawing can be written");
        path.to_str().expect("its path is text").to_owned()
    };
    let (leaf, disk) = (file("leaf.svg", LEAF), file("disk.svg", DISK));

    fill_brief(browser, served, "Garden table").await;
    findings.look(browser, "intake", None).await;
    browser.fill("#count-0", "8").await;
    browser.fill("#file-0", &leaf).await;
    browser.click("button[name=more]").await;
    browser.wait_for("input[name=held-0]").await;
    assert!(browser.words("[data-item='0']").await.contains("leaf is here"));
    browser.fill("#count-1", "6").await;
    browser.fill("#width-1", "64").await;
    browser.fill("#file-1", &disk).await;
    write_down(browser).await;
    browser.wait_for(PLANNED).await;
    let set = browser.words(".set").await;
    // The leaf's curves span 66 × 35 mm (a quadratic Bézier curve comes half way to its middle point),
    // and the cookie stands out 3 mm around what is drawn on it.
    for words in ["8 × leaf", "72 × 41 mm", "6 × disk", "64 × 64 mm"] {
        assert!(set.contains(words), "{words}: {set}");
    }
    findings.look(browser, "order-of-drawings", None).await;
    check_packet(browser).await;
}

async fn without_a_drawing(browser: &Browser, served: &Served, findings: &mut Findings) {
    fill_brief(browser, served, "Rounds for tea").await;
    fill_undrawn(browser).await;
    write_down(browser).await;
    browser.wait_for(PLANNED).await;
    assert!(browser.words(".opening").await.contains("12 cookies"));
    findings.look(browser, "order-without-drawing", None).await;
    check_packet(browser).await;
}

/// Fills in twelve plain rounds.
async fn fill_undrawn(browser: &Browser) {
    browser.fill("#count-0", "12").await;
    browser.click("details.undrawn summary").await;
    browser.fill("#cutter-0", "round 82 mm").await;
    let detail = browser.find("#detail-0").await;
    detail.select_by_value("simple").await.expect("it can be chosen");
    browser.fill("#colors-0", "#2f4666, #ffffff").await;
}

async fn with_a_bad_drawing(browser: &Browser, served: &Served, findings: &mut Findings) {
    let folder = scratch();
    let bad = folder.path().join("letter.svg");
    fs::write(&bad, "Dear customer").expect("the file can be written");
    let pickup = fill_brief(browser, served, "Half of \"it\" & <more>").await;
    browser.fill("#count-0", "5").await;
    browser.fill("#file-0", bad.to_str().expect("its path is text")).await;
    write_down(browser).await;
    browser.wait_for("#file-0-wrong").await;
    let status =
        browser.run("return performance.getEntriesByType('navigation')[0].responseStatus").await;
    assert_eq!(status, 422);
    for (field, typed) in [
        ("#title", "Half of \"it\" & <more>"),
        ("#customer", "nobody (invented)"),
        ("#date", &pickup.to_string()),
        ("#time", "15:30"),
        ("#count-0", "5"),
    ] {
        assert_eq!(browser.value(field).await, typed, "{field}");
    }
    let described = browser.find("#file-0").await.attr("aria-describedby").await;
    let described = described.expect("it is a field").unwrap_or_default();
    assert!(described.contains("file-0-wrong"), "{described}");
    findings.look(browser, "intake-refused", Some(422)).await;
}

async fn with_a_bowl_that_is_too_thick(
    browser: &Browser,
    served: &Served,
    findings: &mut Findings,
) {
    browser.open(&served.at("/")).await;
    browser.click("section.pickups ol a[href^='/orders/']").await;
    browser.wait_for(PLANNED).await;
    browser.click(".bowls a[href^='/thin']").await;
    browser.click("[data-stopwatch] button").await;
    browser.click("[data-stopwatch] button").await;
    let stopped = browser.value("[name=seconds]").await;
    assert!(stopped.parse::<f64>().is_ok(), "{stopped}");
    browser.fill("[name=seconds]", "25").await;
    browser.click("button[value=count]").await;
    browser.wait_for(".dose").await;
    assert!(browser.words(".dose").await.ends_with("of water"));
    findings.look(browser, "thin", None).await;
    browser.click(".next form button").await;
    browser.wait_for("#water_test li").await;
    findings.look(browser, "measured", None).await;
}

/// "Can I take this?", the days of all orders, and what a fan would change.
async fn with_a_request(browser: &Browser, served: &Served, findings: &mut Findings) {
    browser.open(&served.at("/")).await;
    // Measuring changed the kitchen, so that plans are made anew and the page shows them by itself.
    browser.wait_for("section.pickups:not([data-progress])").await;
    browser.run("document.querySelector('input[name=count]').value = ''").await;
    browser.fill("input[name=count]", "48").await;
    browser.click("form.ask button[type=submit]").await;
    browser.wait_for("#answer .yes").await;
    let answer = browser.words("#answer").await;
    assert!(answer.starts_with("Yes") && answer.contains("for 48 cookies"), "{answer}");
    let days = browser.run("return document.querySelectorAll('.weeks td a').length").await;
    assert_eq!(days, 56, "eight weeks");
    findings.look(browser, "answer", None).await;

    browser.open(&served.at("/?count=none&day=2027-06-31")).await;
    assert!(browser.words("#answer").await.contains("Say how many cookies"));

    browser.open(&served.at("/days")).await;
    browser.wait_for(".all-days ol.days").await;
    let words = browser.words(".all-days").await;
    for useful in ["Wash up", "Hand over for Lamp-lighting evening", "/days.ics"] {
        assert!(words.contains(useful), "{useful}: {words}");
    }
    findings.look(browser, "days", None).await;

    browser.open(&served.at("/")).await;
    browser.click("section.pickups ol a[href^='/orders/']").await;
    browser.wait_for(PLANNED).await;
    browser.click("a[href$='/what-if']").await;
    browser.wait_for(".twists").await;
    findings.look(browser, "what-if", None).await;
    browser.click("form:has([name=kind][value=fan]) button").await;
    browser.wait_for(".what-if h2 + .twists form:has([value=fan])").await;
    assert!(browser.words(".what-if").await.contains("Chosen for this order"));
    browser.click("form:has([name=kind][value=fan]) button").await;
    browser.wait_for(".what-if:not(:has(h2 + .twists + h2))").await;
    assert!(!browser.words(".what-if").await.contains("Chosen for this order"));
}

async fn through_the_other_pages(browser: &Browser, served: &Served, findings: &mut Findings) {
    for (path, name, refusal) in [
        ("/kitchen", "kitchen", None),
        ("/gels", "gels", None),
        ("/thin?seconds=soon&answer=count", "thin-refused", Some(422)),
        ("/orders/behind", "orders-behind", None),
        ("/nowhere", "not-found", Some(404)),
    ] {
        browser.open(&served.at(path)).await;
        findings.look(browser, name, refusal).await;
    }
    browser.open(&served.at("/")).await;
    browser.click("section.pickups ol a[href^='/orders/']").await;
    browser.click("a[href$='/change']").await;
    browser.wait_for("input[name=revision]").await;
    findings.look(browser, "order-change", None).await;
}

#[tokio::test]
async fn orders_are_read_and_written_down_without_scripts() {
    let Some(browser) = Browser::start(LAPTOP, Scripts::Blocked).await else { return };
    let served = Served::start();
    browser.open(&served.at("/")).await;
    // The page loads itself again until the plans are there.
    browser.wait_for("section.pickups:not([data-progress])").await;
    browser.click("section.pickups ol a[href^='/orders/']").await;
    browser.wait_for(PLANNED).await;
    for chapter in CHAPTERS {
        assert!(!browser.words(&format!("#{chapter}")).await.is_empty(), "{chapter}");
    }
    let is_measured = browser.count("[data-screen-measure]:not([hidden])").await > 0;
    assert!(!is_measured, "the script that measures the screen has run");
    fill_brief(&browser, &served, "Without scripts").await;
    fill_undrawn(&browser).await;
    write_down(&browser).await;
    browser.wait_for(PLANNED).await;
    assert!(browser.words("h1").await.contains("Without scripts"));
}
