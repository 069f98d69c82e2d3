//! Texts that try to take over a page, on real pages in a real browser; and many tabs at once.

use serde_json::json;

use crate::studio::open;
use crate::vectors;

/// Stands in every page before its own scripts: notes what a hostile script would do, and what the page's policy refused.
const WATCH: &str = "
    window.fired = [];
    window.refused = [];
    for (const name of ['alert', 'confirm', 'prompt', 'print']) window[name] = what => { window.fired.push(name + ' ' + what); return null; };
    document.addEventListener('securitypolicyviolation', event => window.refused.push(event.violatedDirective + ' ' + event.blockedURI + ' ' + event.sample));
";

/// Does to every element of the page what would set off a handler in it, and says what was set off or refused, and what
/// of the page could lead to a script.
const PROVOKE: &str = "
    for (const element of document.querySelectorAll('*')) {
        for (const kind of ['mouseover', 'mouseenter', 'focus', 'focusin', 'error', 'load', 'pointerover', 'animationstart', 'transitionend', 'toggle', 'wheel', 'begin'])
            element.dispatchEvent(new Event(kind, {bubbles: true}));
        for (const {name, value} of element.attributes) {
            if (name.startsWith('on')) window.fired.push('a handler ' + name);
            if (/^(href|src|action|formaction|data|xlink:href)$/.test(name) && /^\\s*(javascript|data|vbscript|blob):/i.test(value)) window.fired.push(name + ' ' + value);
        }
    }
    await new Promise(done => setTimeout(done, 20));
    return {fired: window.fired, refused: window.refused, scripts: [...document.scripts].filter(script => !script.src.startsWith(location.origin + '/')).length, frames: document.querySelectorAll('iframe, object, embed, base, link[rel=import], meta[http-equiv]').length, main: document.querySelectorAll('main').length};
";

#[test]
fn no_hostile_text_does_anything_in_a_browser() {
    open(|studio, page| async move {
        page.cdp("Page.addScriptToEvaluateOnNewDocument", json!({"source": WATCH})).await;
        let vectors = vectors::all();
        assert!(vectors.len() >= 400, "{}", vectors.len());
        // The watch sees what it is to see.
        page.go("/").await;
        let seen = page.js("alert('seen'); return window.fired", &[]).await;
        assert_eq!(seen, json!(["alert seen"]));
        let refused = "document.body.insertAdjacentElement('beforeend', Object.assign(document.createElement('img'), {src: 'https://elsewhere.example/x'})); await new Promise(done => setTimeout(done, 200)); return window.refused.length";
        assert!(page.js(refused, &[]).await.as_u64() > Some(0), "the policy refuses what is loaded from elsewhere");
        page.complaints().await;
        // Every other one, which leaves more than two hundred; the server's own tests take all of them.
        for (number, vector) in vectors.iter().step_by(2).enumerate() {
            // The head of a plan takes no text that ends its line; the rest of it is written as it is.
            studio.outside("hostile.md", &vectors::plan_with(vector));
            studio.notebook.look();
            let mut pages = vec!["/plan/hostile"];
            if number % 20 == 0 {
                pages.extend([
                    "/",
                    "/plan/hostile/ticket/lab",
                    "/plan/hostile/history",
                    "/plan/hostile/ledger",
                    "/year",
                ]);
            }
            for path in pages {
                page.go(path).await;
                let did = page.js(PROVOKE, &[]).await;
                let nothing = json!({"fired": [], "refused": [], "scripts": 0, "frames": 0, "main": 1});
                assert_eq!(did, nothing, "{path} with {vector:?}");
            }
        }
    });
}

/// Makes nodes of some HTML by the page's own module, in one way or the other, and says what came of it.
const MADE: &str = "
    const [html, whole, own, done] = arguments;
    const address = new URL('safe.js', document.querySelector('script[type=module]').src);
    import(address).then(({ fragment, page, sanitizer }) => {
        const way = own ? sanitizer : null;
        if (own && !way) return done('this browser has no sanitizer');
        if (whole) return done(page(html, way).body.innerHTML);
        const box = document.createElement('div');
        box.append(document.importNode(fragment(html, way), true));
        done(box.innerHTML);
    }, fault => done(String(fault)));
";

#[test]
fn nodes_are_made_only_of_what_is_on_the_list_by_the_browsers_sanitizer_and_without_one() {
    open(|_, page| async move {
        page.cdp("Page.addScriptToEvaluateOnNewDocument", json!({"source": WATCH})).await;
        page.go("/plan/first-plan").await;
        let hostile = [
            ("<p>a<blink>b</blink>c</p>", "<p>ac</p>"),
            ("<p>a<x-own>b</x-own></p>", "<p>a</p>"),
            (
                "<p onclick=\"alert(1)\" style=\"top:0\" data-line=\"3\" class=\"c\">a</p>",
                "<p data-line=\"3\" class=\"c\">a</p>",
            ),
            (
                "<img src=\"/nope.jpg\" alt=\"a\" onerror=\"alert(1)\" srcset=\"x\">",
                "<img src=\"/nope.jpg\" alt=\"a\">",
            ),
            ("<a href=\"java&#10;script:alert(1)\">a</a>", "<a>a</a>"),
            ("<a href=\"https://a.example/\" ping=\"/x\">a</a>", "<a href=\"https://a.example/\">a</a>"),
            ("<script>alert(1)</script><iframe srcdoc=\"x\"></iframe><base href=\"/x\"><object></object>b", "b"),
            (
                "<svg viewBox=\"0 0 1 1\"><animate attributeName=\"x\"/><path d=\"M0 0\" onload=\"alert(1)\"/></svg>",
                "<svg viewBox=\"0 0 1 1\"><path d=\"M0 0\"></path></svg>",
            ),
            ("<svg><foreignObject><p>a</p></foreignObject></svg>", "<svg></svg>"),
            ("<math><mi>a</mi></math>b", "b"),
            (
                "<input type=\"checkbox\" data-tick=\"4\" formaction=\"/x\" checked>",
                "<input type=\"checkbox\" data-tick=\"4\" checked=\"\">",
            ),
            ("<template><p>a</p></template>b", "b"),
        ];
        for own in [true, false] {
            for whole in [false, true] {
                for (html, wanted) in hostile {
                    let made = page.js_later(MADE, &[json!(html), json!(whole), json!(own)]).await;
                    assert_eq!(made, json!(wanted), "{html}, with a sanitizer: {own}, as a page: {whole}");
                }
            }
        }
        // What the notebook itself answers passes both ways whole, a drawing and what is changed on the page among it.
        let article = "return document.getElementById('plan').innerHTML";
        for path in ["/plan/causeway-first-light", "/plan/long-wall-flood-tide", "/rates/shops%2Ftidewater-lab"] {
            page.go(path).await;
            let fetched = format!("const text = await (await fetch('{}/sheet')).json(); return text.article", path);
            let html = page.js(&fetched, &[]).await;
            let [with, without] = [
                page.js_later(MADE, &[html.clone(), json!(false), json!(true)]).await,
                page.js_later(MADE, &[html.clone(), json!(false), json!(false)]).await,
            ];
            assert_eq!(with, without, "{path}");
            let count = |made: &serde_json::Value, mark: &str| made.as_str().unwrap().matches(mark).count();
            for mark in ["<p", "data-", "class=", "aria-label", "<button", "<input", "<path", "href=", "id="] {
                assert_eq!(count(&with, mark), count(&html, mark), "{path}: {mark}");
            }
        }
        assert!(page.js(article, &[]).await.as_str().unwrap().len() > 1_000);
        assert_eq!(page.js("return window.fired", &[]).await, json!([]));
    });
}

#[test]
fn seven_tabs_of_one_notebook_all_load_and_all_follow() {
    open(|studio, page| async move {
        // A browser opens at most six connections to one server, and every open plan follows the notebook over one.
        for _ in 0..6 {
            page.tab().await;
            page.go("/plan/causeway-first-light").await;
        }
        page.tab().await;
        page.go("/plan/quarry-upper-bench").await;
        let words = page.js("return document.querySelector('article, main').innerText", &[]).await;
        assert!(words.as_str().unwrap().contains("flatbed"), "{words}");
        let text = studio.file("quarry-upper-bench.md");
        studio.outside("quarry-upper-bench.md", &text.replace("Grey stone in flat light", "Grey stone in fog"));
        page.until("the seventh tab to follow", "return document.body.innerText.includes('Grey stone in fog')").await;
    });
}
