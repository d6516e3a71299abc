//! A bowl is thinned, and what is measured moves the kitchen's numbers.

use axum::http::StatusCode;

use super::{Running, location, read};

const FORM: &str = "application/x-www-form-urlencoded";

/// The value of a hidden field of a page.
fn hidden<'a>(page: &'a str, name: &str) -> &'a str {
    let field = format!("name=\"{name}\" value=\"");
    page.split(&field).nth(1).and_then(|rest| rest.split('"').next()).expect("a hidden field")
}

#[tokio::test(flavor = "multi_thread")]
async fn readings_of_a_bowl_give_doses_until_it_is_ready_and_are_kept() {
    let running = Running::start_unplanned().await;
    let (status, page) = running.page("/thin?bowl=navy&stiff=300&target=12&gel=0").await;
    assert_eq!(status, StatusCode::OK);
    assert!(page.contains("Test it") && page.contains("value=\"navy\""), "{page}");

    let first = "/thin?bowl=navy&stiff=300&target=12&gel=0&water=0&seconds=25&answer=count";
    let settled = location(&running.get(first).await);
    let (_, page) = running.page(&settled).await;
    assert!(page.contains("of water") && page.contains("Without water 25 s."), "{page}");
    let second = format!("{settled}&water=7.4&seconds=&answer=no");
    let settled = location(&running.get(&second).await);
    let (_, page) = running.page(&settled).await;
    assert!(page.contains("With 7.4 g of water not yet smooth at 12 s."), "{page}");
    let third = format!("{settled}&water=9,5&seconds=12&answer=count");
    let settled = location(&running.get(&third).await);
    let (_, page) = running.page(&settled).await;
    assert!(page.contains("It is ready: bag it."), "{page}");

    let before = running.desk.kitchen().await.expect("a kitchen").kitchen;
    let body = settled.trim_start_matches("/thin?").as_bytes().to_vec();
    let kept = location(&running.post("/thin/keep", FORM, body).await);
    assert_eq!(kept, "/measured?kept=3#water_test");
    let after = running.desk.kitchen().await.expect("a kitchen").kitchen;
    assert_eq!(after.water_tests.len(), 3);
    let body = settled.trim_start_matches("/thin?").as_bytes().to_vec();
    location(&running.post("/thin/keep", FORM, body).await);
    let again = running.desk.kitchen().await.expect("a kitchen").kitchen;
    assert_eq!(again.water_tests.len(), 3, "sent twice, kept once");
    assert_ne!(after.icing.water, before.icing.water);
}

#[tokio::test(flavor = "multi_thread")]
async fn a_reading_that_makes_no_sense_is_refused_at_its_field() {
    let running = Running::start_unplanned().await;
    for (query, words) in [
        ("seconds=soon&answer=count", "\"soon\" is no number; write it like 12.5."),
        ("seconds=&answer=count", "Type the seconds, or use the stopwatch."),
        ("seconds=900&answer=count", "900 is outside 1 to 300; correct it."),
        ("water=-2&seconds=9&answer=count", "-2 is outside 0 to"),
        ("r=5,20,&water=3&seconds=9&answer=count", "3 g are less than the 5 g before"),
        ("stiff=none", "\"none\" is no number"),
        ("stiff=0", "0 is outside 1 to 50000"),
        ("own=0.2", "0.2 is outside 1 to 300"),
    ] {
        let (status, page) = running.page(&format!("/thin?bowl=navy&{query}")).await;
        assert_eq!(status, StatusCode::UNPROCESSABLE_ENTITY, "{query}");
        assert!(page.replace("&quot;", "\"").contains(words), "{query}: {page}");
    }
    let (status, _) = running.page("/thin?r=nonsense&r=,,,&r=1e999,5,").await;
    assert_eq!(status, StatusCode::UNPROCESSABLE_ENTITY);
}

#[tokio::test(flavor = "multi_thread")]
async fn what_is_measured_moves_its_number_until_it_is_set_aside() {
    let running = Running::start_unplanned().await;
    let depth = async || {
        let kitchen = running.desk.kitchen().await.expect("a kitchen").kitchen;
        kitchen.icing.base_depth.to_mm()
    };
    let start = depth().await;
    let (_, page) = running.page("/measured").await;
    let revision = hidden(&page, "revision").to_owned();
    let record = "rate=icing.base_depth_mm&value=1.8&on=2027-02-16";
    let body = format!("revision={revision}&{record}").into_bytes();
    let back = location(&running.post("/measured/number", FORM, body.clone()).await);
    assert_eq!(back, "/measured#icing.base_depth_mm");
    // Two records' worth of 2.2 mm and one of 1.8.
    let learned = ((2.0 * start.ln() + 1.8_f64.ln()) / 3.0).exp();
    assert!((depth().await - learned).abs() < 1e-9);
    let again = running.post("/measured/number", FORM, body).await;
    assert_eq!(again.status(), StatusCode::CONFLICT, "the form saw an older state");

    let (_, page) = running.page("/measured").await;
    assert!(page.contains("1 record"), "{page}");
    let revision = hidden(&page, "revision").to_owned();
    let aside = format!("revision={revision}&list=measured&place=0").into_bytes();
    location(&running.post("/measured/set-aside", FORM, aside).await);
    assert!((depth().await - start).abs() < 1e-9);

    let (_, page) = running.page("/measured").await;
    let revision = hidden(&page, "revision").to_owned();
    for (path, fields, words) in [
        ("/measured/number", "rate=icing.bead_mm&value=thin&on=2027-02-16", "is no number"),
        ("/measured/number", "rate=icing.bead_mm&value=-1&on=2027-02-16", "-1 is far from"),
        ("/measured/number", "rate=icing.bead_mm&value=1&on=today", "is no date"),
        ("/measured/number", "rate=icing.bead_mm&value=1&on=2031-01-01", "is still to come"),
        ("/measured/air", "room_celsius=20&room_humidity_percent=120", "120 is outside 0 to 100"),
        (
            "/measured/drying",
            "state=skin&after_min=0&answer=count&celsius=20&humidity_percent=50&on=2027-02-16",
            "0 is outside 1 to",
        ),
    ] {
        let body = format!("revision={revision}&{fields}").into_bytes();
        let (status, page) = read(running.post(path, FORM, body).await).await;
        assert_eq!(status, StatusCode::UNPROCESSABLE_ENTITY, "{fields}");
        assert!(page.contains(words), "{fields}: {page}");
    }
    let air = "room_celsius=24&room_humidity_percent=65&fan=true";
    let body = format!("revision={revision}&{air}").into_bytes();
    assert_eq!(location(&running.post("/measured/air", FORM, body).await), "/measured#air");
    assert!(running.desk.kitchen().await.expect("a kitchen").kitchen.drying.fan);
}

#[tokio::test(flavor = "multi_thread")]
async fn a_sample_makes_its_gel_known_until_it_is_set_aside() {
    let running = Running::start_unplanned().await;
    let (status, page) = running.page("/gels").await;
    assert_eq!(status, StatusCode::OK);
    assert!(page.contains("Not tried yet.") && page.contains("1.8 g"), "{page}");
    let kitchen = async || running.desk.kitchen().await.expect("a kitchen");
    let revision = async || kitchen().await.settings.revision.to_i64();
    // Six drops of 0.04 g in 60 g are 0.4 g in 100 g; pictured in warm light, beside plain icing in it.
    let fields =
        "gel=0&amount=6&unit=drops&icing_g=60&seen=%23b83a34&plain=%23d8cbb4&white=&next_day=";
    let body = format!("revision={}&{fields}", revision().await).into_bytes();
    assert_eq!(location(&running.post("/gels/sample", FORM, body).await), "/gels#gel-0");
    let samples = kitchen().await.kitchen.gels[0].samples.clone();
    assert_eq!(samples.len(), 1);
    assert!((samples[0].per_100_g.to_g() - 0.4).abs() < 1e-9);
    assert_ne!(samples[0].seen.to_hex(), "#b83a34", "the light of the photograph was taken off");
    let (_, page) = running.page("/gels").await;
    assert!(page.contains("By 1 sample it is"), "{page}");

    for (fields, words) in [
        ("gel=0&amount=some&unit=g&icing_g=50&seen=%23b83a34", "is no number"),
        ("gel=0&amount=0&unit=g&icing_g=50&seen=%23b83a34", "above zero"),
        ("gel=0&amount=1&unit=g&icing_g=50&seen=reddish", "reddish"),
        ("gel=0&amount=1&unit=g&icing_g=50&seen=%23b83a34&plain=%23ffffff", "blown out"),
    ] {
        let body = format!("revision={}&{fields}", revision().await).into_bytes();
        let (status, page) = read(running.post("/gels/sample", FORM, body).await).await;
        assert_eq!(status, StatusCode::UNPROCESSABLE_ENTITY, "{fields}");
        assert!(page.contains(words), "{fields}: {page}");
    }
    let aside = format!("revision={}&gel=0&sample=0", revision().await).into_bytes();
    location(&running.post("/gels/set-aside", FORM, aside).await);
    assert!(kitchen().await.kitchen.gels[0].samples.is_empty());
}
