//! Every page on a phone, in the dark, and without a complaint from the browser.

use serde_json::json;

use crate::page::Page;
use crate::studio::open;

const PLANS: [&str; 8] = [
    "boathouse-window",
    "causeway-first-light",
    "ferry-ramp-thaw",
    "first-plan",
    "grain-elevator-noon",
    "long-wall-flood-tide",
    "mill-race-three-windows",
    "quarry-upper-bench",
];

/// Every page there is.
fn pages() -> Vec<String> {
    let mut all: Vec<String> =
        ["/", "/#table", "/begin", "/rates", "/rates/begin", "/reference", "/nowhere", "/plan/nowhere"]
            .map(str::to_owned)
            .to_vec();
    for sheet in ["corner-joint", "heron-scan-room", "linden-scans", "plane-and-press", "quay-works", "tidewater-lab"] {
        all.push(format!("/rates/shops%2F{sheet}"));
    }
    for plan in PLANS {
        all.push(format!("/plan/{plan}"));
        all.push(format!("/plan/{plan}?units=metric"));
    }
    for (plan, role) in [
        ("causeway-first-light", "scanner"),
        ("causeway-first-light", "framer"),
        ("quarry-upper-bench", "lab"),
        ("boathouse-window", "framer"),
    ] {
        all.push(format!("/plan/{plan}/ticket/{role}"));
        all.push(format!("/plan/{plan}/ticket/{role}?paper=a4"));
    }
    let own = ["history", "compare?from=1&to=1", "ledger", "certificate/1", "certificate/AP-1", "links"];
    all.extend(own.map(|page| format!("/plan/causeway-first-light/{page}")));
    all.extend(["/year", "/certificate?code=nowhere", "/rates/shops%2Ftidewater-lab/history"].map(str::to_owned));
    all
}

/// How much wider the page is than the window, and what sticks out.
pub async fn overhang(page: &Page) -> (i64, String) {
    let script = "const wide = document.documentElement.clientWidth, all = document.documentElement.scrollWidth; \
        const out = [...document.querySelectorAll('body *')].filter(e => e.getBoundingClientRect().right > wide + 1).map(e => e.outerHTML.slice(0, 90)); \
        return [all - wide, out.slice(0, 5).join(' | ')]";
    let found = page.js(script, &[]).await;
    (found[0].as_i64().unwrap(), found[1].as_str().unwrap().to_owned())
}

#[test]
fn no_page_makes_the_browser_complain() {
    open(|_, page| async move {
        for path in pages() {
            page.go(&path).await;
            if path.contains("nowhere") {
                page.complains_only_of(&["404"]).await;
            } else {
                page.is_quiet().await;
            }
        }
    });
}

#[test]
fn a_complaint_would_be_noticed() {
    open(|_, page| async move {
        page.go("/").await;
        page.js("console.error('on purpose')", &[]).await;
        page.js(
            "const s = document.createElement('style'); s.textContent = 'p { color: red }'; document.head.append(s)",
            &[],
        )
        .await;
        page.js("try { document.querySelector('h1').setAttribute('onclick', 'x()') } catch { console.error('a handler is refused') }", &[]).await;
        page.js("const i = new Image(); i.src = 'https://attacker.example/look.png'", &[]).await;
        page.js("setTimeout(() => { throw new Error('thrown on purpose') })", &[]).await;
        page.js("try { document.body.innerHTML += '' } catch { console.error('innerHTML is refused') }", &[]).await;
        let expected = [
            "on purpose",
            "inline style",
            "a handler is refused",
            "TrustedScript",
            "attacker.example",
            "thrown on purpose",
            "innerHTML is refused",
        ];
        let mut all: Vec<String> = Vec::new();
        let missing =
            |all: &[String]| expected.iter().filter(|words| !all.iter().any(|one| one.contains(*words))).count();
        let began = std::time::Instant::now();
        while missing(&all) > 0 {
            assert!(began.elapsed() < crate::studio::PATIENCE, "{all:#?}");
            all.append(&mut page.complaints().await);
        }
    });
}

#[test]
fn no_page_is_wider_than_a_phone() {
    open(|_, page| async move {
        page.screen(390, 844).await;
        for path in pages() {
            page.go(&path).await;
            let (over, out) = overhang(&page).await;
            assert_eq!(over, 0, "{path}: {out}");
        }
    });
}

/// Every number with its unit on the page that stands on two lines. What is typed, the text of two revisions and a code are
/// no measures.
const BROKEN: &str = r"
    const walk = document.createTreeWalker(document.body, NodeFilter.SHOW_TEXT), out = [];
    const value = /[0-9][0-9.,\u202f]*(?:[\u00a0 ][0-9]+\/[0-9]+|\/[0-9]+)?(?:\u00a0×\u00a0[0-9][0-9.,\u202f]*(?:[\u00a0 ][0-9]+\/[0-9]+|\/[0-9]+)?)*\u00a0(?:in|ft|mm|cm|m|px|ppi|lb|oz|kg|g|%)(?![a-z])/g;
    for (let node = walk.nextNode(); node; node = walk.nextNode()) {
        if (!node.parentElement.checkVisibility() || node.parentElement.closest('svg, textarea, script, style, .unseen, .two-texts, figcaption')) continue;
        for (const found of node.data.matchAll(value)) {
            const range = document.createRange();
            range.setStart(node, found.index);
            range.setEnd(node, found.index + found[0].length);
            const lines = new Set([...range.getClientRects()].filter(one => one.width > 0).map(one => Math.round(one.top / 4)));
            if (lines.size > 1) out.push(found[0] + ' in ' + node.parentElement.outerHTML.slice(0, 80));
        }
    }
    return out";

#[test]
fn no_number_is_parted_from_its_unit_on_a_phone() {
    open(|studio, page| async move {
        // Another print width, so that the page that compares has measures on it.
        let text = studio.file("causeway-first-light.md");
        let changed = text.replacen("given(\"Print width\", 90.inch", "given(\"Print width\", 92.375.inch", 1);
        assert_ne!(text, changed);
        page.go("/plan/causeway-first-light").await;
        studio.outside("causeway-first-light.md", &changed);
        page.go("/plan/causeway-first-light").await;
        page.screen(390, 844).await;
        let mut all = pages();
        all.extend(tickets());
        all.push("/plan/causeway-first-light/compare?from=1&to=2".to_owned());
        all.push("/plan/causeway-first-light/compare?from=1&to=2&units=metric".to_owned());
        for path in all {
            page.go(&path).await;
            let broken = page.js(BROKEN, &[]).await;
            assert_eq!(broken, json!([]), "{path}");
            let (over, out) = overhang(&page).await;
            assert_eq!(over, 0, "{path}: {out}");
        }
    });
}

/// Every ticket of every shipped plan.
fn tickets() -> Vec<String> {
    let texts = makeready_tests::texts().unwrap();
    let roles = texts.iter().flat_map(|(plan, text)| {
        let shops = engine::document::Document::read(text).front.shops;
        shops.into_iter().map(move |(role, _)| format!("/plan/{plan}/ticket/{role}"))
    });
    roles.collect()
}

#[test]
fn nothing_that_opens_is_wider_than_a_phone() {
    open(|studio, page| async move {
        page.screen(390, 844).await;
        page.go("/plan/causeway-first-light").await;
        // Every block of workings unfolded.
        page.js("document.querySelectorAll('details').forEach(d => { d.open = true })", &[]).await;
        assert_eq!(overhang(&page).await.0, 0, "workings: {}", overhang(&page).await.1);
        page.click("[data-copy]").await;
        page.until_there("#copy-title").await;
        assert_eq!(overhang(&page).await.0, 0, "the next piece: {}", overhang(&page).await.1);
        page.click("[data-shut]").await;
        page.click("button.write[aria-label='write the section Carrying']").await;
        page.until_there("#passage").await;
        page.caret_before("let lift_car").await;
        page.keys("let far = wide + 3.lb;\n").await;
        page.until_there("#wrong .problem").await;
        assert_eq!(overhang(&page).await.0, 0, "a section: {}", overhang(&page).await.1);
        page.click("[data-act=leave]").await;
        page.until_gone("#passage").await;
        page.click("#write-all").await;
        page.until_there("#passage").await;
        page.caret_before("One frame of 6x17").await;
        page.keys("Mine. ").await;
        page.until_says("#plan", "Mine. One frame of 6x17").await;
        assert_eq!(overhang(&page).await.0, 0, "the whole: {}", overhang(&page).await.1);
        let text = studio.file("causeway-first-light.md");
        studio.outside("causeway-first-light.md", &text.replace("A tidal road", "The tidal road"));
        page.click("[data-act=save]").await;
        page.until_there("#clash").await;
        assert_eq!(overhang(&page).await.0, 0, "two texts: {}", overhang(&page).await.1);
        page.complains_only_of(&["412"]).await;
    });
}

#[test]
fn what_is_wrong_is_shown_on_a_phone_without_scrolling_sideways() {
    open(|studio, page| async move {
        page.screen(390, 844).await;
        let text = studio.file("first-plan.md");
        studio.outside(
            "first-plan.md",
            &text.replace("hangs(piece.size);", "let averyveryverylongnamewithoutanyspacesinitatallthatgoesonandon = wide + 3.lb;\nhangs(piece.size);\n"),
        );
        page.go("/plan/first-plan").await;
        page.until_there(".workings .problem").await;
        assert_eq!(overhang(&page).await.0, 0, "{}", overhang(&page).await.1);
        page.go("/").await;
        assert_eq!(overhang(&page).await.0, 0, "{}", overhang(&page).await.1);
        page.is_quiet().await;
    });
}

/// The contrast between the colour of an element's text and what is behind it, after WCAG 2.2, "contrast ratio".
const CONTRAST: &str = r"
const rgb = c => { const x = document.createElement('canvas').getContext('2d', { willReadFrequently: true }); x.fillStyle = c; x.fillRect(0, 0, 1, 1); return [...x.getImageData(0, 0, 1, 1).data]; };
const lum = ([r, g, b]) => { const f = v => (v /= 255) <= 0.04045 ? v / 12.92 : ((v + 0.055) / 1.055) ** 2.4; return 0.2126 * f(r) + 0.7152 * f(g) + 0.0722 * f(b); };
const behind = e => { for (; e; e = e.parentElement) { const c = rgb(getComputedStyle(e).backgroundColor); if (c[3] > 250) return c; } return [255, 255, 255]; };
const all = [];
for (const e of document.querySelectorAll(arguments[0])) {
  if (!e.getClientRects().length || ![...e.childNodes].some(n => n.nodeType === 3 && n.textContent.trim())) continue;
  const a = lum(rgb(getComputedStyle(e).color)), b = lum(behind(e));
  all.push([(Math.max(a, b) + 0.05) / (Math.min(a, b) + 0.05), e.outerHTML.slice(0, 100)]);
}
all.sort((a, b) => a[0] - b[0]);
return [all.length, all[0], lum(behind(document.querySelector('main')))];
";

#[test]
fn every_page_can_be_read_in_the_light_and_in_the_dark() {
    open(|_, page| async move {
        for scheme in ["light", "dark"] {
            page.prefers(scheme).await;
            for path in [
                "/",
                "/#table",
                "/begin",
                "/rates",
                "/rates/shops%2Ftidewater-lab",
                "/reference",
                "/plan/causeway-first-light",
                "/plan/quarry-upper-bench",
                "/plan/causeway-first-light/ticket/framer",
            ] {
                page.go(path).await;
                let found = page.js(CONTRAST, &[json!("main *, header *")]).await;
                assert!(found[0].as_u64().unwrap() > 5, "{path} has text");
                // WCAG 2.2, success criterion 1.4.3: at least 4.5 to 1 for text (from memory).
                assert!(found[1][0].as_f64().unwrap() >= 4.5, "{scheme} {path}: {}", found[1]);
                let ground = found[2].as_f64().unwrap();
                let ticket = path.contains("/ticket/");
                assert!(
                    if scheme == "dark" && !ticket { ground < 0.1 } else { ground > 0.7 || ticket },
                    "{scheme} {path}: {ground}"
                );
            }
        }
        page.is_quiet().await;
    });
}

#[test]
fn the_wall_hangs_everything_to_one_scale() {
    open(|_, page| async move {
        page.go("/").await;
        // Widths on the screen are as the widths of the frames: 92 1/4, 74, 27 7/8 in, 1652 mm and 60 in.
        let script = "return [...document.querySelectorAll('#wall > li:not(.person)')].map(li => [li.querySelector('h2').textContent, li.querySelector('.on svg, .on > *').getBoundingClientRect().width / Number(li.dataset.w)])";
        let found = page.js(script, &[]).await;
        let scales: Vec<f64> = found.as_array().unwrap().iter().map(|one| one[1].as_f64().unwrap()).collect();
        assert_eq!(scales.len(), PLANS.len());
        for scale in &scales {
            assert!((scale / scales[0] - 1.0).abs() < 0.03, "{found}");
        }
        page.is_quiet().await;
    });
}
