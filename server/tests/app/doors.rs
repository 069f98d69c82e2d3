//! Who is let in: which names the server answers to, which pages may write, and what it tells every browser.

use axum::body::Body;
use axum::http::{Method, Request, header};
use serde_json::json;

use crate::desk::{Desk, Reply, unescaped};

const POLICY: &str = "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self'; font-src 'self'; connect-src 'self'; form-action 'self'; base-uri 'none'; frame-ancestors 'none'; require-trusted-types-for 'script'; trusted-types makeready";

async fn with_hosts(desk: &Desk, target: &str, hosts: &[&str]) -> Reply {
    let mut request = Request::get(target);
    for host in hosts {
        request = request.header(header::HOST, *host);
    }
    desk.ask(request.body(Body::empty()).unwrap()).await
}

#[tokio::test]
async fn only_its_own_names_are_answered() {
    let desk = Desk::shipped();
    for host in ["localhost", "LOCALHOST:6170", "127.0.0.1", "127.0.0.1:1", "[::1]", "[::1]:6170"] {
        with_hosts(&desk, "/", &[host]).await.is(200);
    }
    for host in [
        "attacker.example",
        "localhost.attacker.example",
        "attacker.example:6170",
        "127.0.0.1.attacker.example",
        "127.0.0.2",
        "0.0.0.0",
        "[::2]",
        "localhost@attacker.example",
        "",
    ] {
        let reply = with_hosts(&desk, "/", &[host]).await.is(421);
        assert_eq!(
            reply.text(),
            "this server does not answer to that name; open the address the program printed, or start it with `--host` and the name\n",
            "{host}"
        );
    }
}

#[tokio::test]
async fn a_request_that_names_no_server_or_two_is_refused() {
    let desk = Desk::shipped();
    for hosts in [&[][..], &["localhost", "localhost"], &["localhost", "attacker.example"]] {
        let reply = with_hosts(&desk, "/", hosts).await.is(400);
        assert_eq!(
            reply.text(),
            "this request does not say which server it is for; open the address the program printed\n"
        );
    }
    // The name may also stand in the target itself.
    with_hosts(&desk, "http://localhost/", &["localhost"]).await.is(200);
    with_hosts(&desk, "http://attacker.example/", &["localhost"]).await.is(421);
}

#[tokio::test]
async fn a_write_from_another_site_is_refused_and_changes_nothing() {
    let desk = Desk::shipped();
    let files = desk.files();
    let mark = desk.mark("first-plan").await;
    let writes = [
        (Method::PUT, "/plan/first-plan/text", "# Gone".to_owned()),
        (Method::POST, "/plan/first-plan/given", json!({"given": 1, "value": "70"}).to_string()),
        (Method::POST, "/plan/first-plan/tick", json!({"line": 1, "done": true}).to_string()),
        (Method::POST, "/plan/first-plan/ledger", json!({"number": 1, "when": "2026-11-25"}).to_string()),
        (Method::POST, "/plan/first-plan/copy", json!({"title": "Theirs"}).to_string()),
        (Method::POST, "/plan/first-plan/draft", "# Draft".to_owned()),
        (Method::POST, "/begin", "title=Theirs".to_owned()),
    ];
    let strangers: [&[(&str, &str)]; 9] = [
        &[],
        &[("sec-fetch-site", "cross-site")],
        &[("sec-fetch-site", "same-site")],
        &[("sec-fetch-site", "none")],
        &[("sec-fetch-site", "cross-site"), ("origin", "http://localhost")],
        &[("origin", "null")],
        &[("origin", "http://attacker.example")],
        &[("origin", "http://localhost:9999")],
        &[("origin", "http://localhost.attacker.example")],
    ];
    for (method, path, body) in &writes {
        for stranger in strangers {
            let mut request = Request::builder().method(method).uri(*path).header(header::HOST, "localhost");
            request = request.header(header::IF_MATCH, format!("\"{mark}\""));
            for (name, value) in stranger {
                request = request.header(*name, *value);
            }
            let reply = desk.ask(request.body(Body::from(body.clone())).unwrap()).await.is(403);
            assert!(
                reply.text().starts_with("this request does not come from a page of this notebook; "),
                "{method} {path} {stranger:?}: {}",
                reply.text()
            );
        }
    }
    assert_eq!(desk.files(), files);
    assert_eq!(desk.history("first-plan").len(), 1);
}

#[tokio::test]
async fn an_own_page_and_a_program_that_says_so_may_write() {
    let desk = Desk::shipped();
    for own in
        [("sec-fetch-site", "same-origin"), ("origin", "http://localhost:6170"), ("origin", "https://localhost:6170")]
    {
        let request =
            Request::post("/plan/first-plan/draft").header(header::HOST, "localhost:6170").header(own.0, own.1);
        desk.ask(request.body(Body::from("# Draft")).unwrap()).await.is(200);
    }
}

#[tokio::test]
async fn every_answer_carries_the_rules_for_the_browser() {
    let desk = Desk::shipped();
    let answers = [
        desk.get("/").await.is(200),
        desk.get("/plan/causeway-first-light").await.is(200),
        desk.get("/plan/causeway-first-light/ticket/lab").await.is(200),
        desk.get("/plan/causeway-first-light/values").await.is(200),
        desk.get("/plan/causeway-first-light/text").await.is(200),
        desk.get("/plan/none").await.is(404),
        desk.get("/nowhere").await.is(404),
    ];
    for reply in answers {
        let header = |name: &str| reply.headers.get(name).and_then(|value| value.to_str().ok()).unwrap_or_default();
        assert_eq!(header("content-security-policy"), POLICY);
        assert_eq!(header("x-content-type-options"), "nosniff");
        assert_eq!(header("referrer-policy"), "no-referrer");
        assert_eq!(header("cross-origin-opener-policy"), "same-origin");
        assert_eq!(header("cross-origin-resource-policy"), "same-origin");
        assert_eq!(header("permissions-policy"), "camera=(), microphone=(), geolocation=()");
        assert_eq!(header("cache-control"), "no-store");
        assert!(!reply.headers.contains_key("access-control-allow-origin"), "no other site may read it");
    }
}

#[tokio::test]
async fn no_page_holds_a_script_a_style_or_a_handler_of_its_own() {
    let desk = Desk::shipped();
    for path in [
        "/",
        "/begin",
        "/rates",
        "/rates/shops%2Ftidewater-lab",
        "/reference",
        "/plan/causeway-first-light",
        "/plan/quarry-upper-bench/ticket/lab",
        "/nowhere",
    ] {
        let page = desk.get(path).await;
        let text = page.text();
        assert!(!text.contains("<style") && !text.contains("javascript:"), "{path}");
        for (at, _) in text.match_indices("<script") {
            let tag = unescaped(text[at..].split_inclusive('>').next().unwrap());
            assert!(tag.starts_with("<script type=\"module\" src=\"/a/"), "{path}: {tag}");
        }
        for (at, _) in text.match_indices('<') {
            let tag = text[at..].split('>').next().unwrap();
            // What stands in quotes is a value; names stand outside.
            let names: String = tag.split('"').step_by(2).collect::<Vec<_>>().join(" ");
            for one in names.split_whitespace().skip(1) {
                assert!(!one.starts_with("style=") && !one.starts_with("on"), "{path}: {tag}");
            }
        }
    }
}

#[tokio::test]
async fn what_a_text_holds_never_becomes_a_script() {
    let desk = Desk::with(concat!(
        "+++\ntitle = \"<script>alert(1)</script>\"\nedition = 3\n+++\n\n# <script>alert(1)</script>\n\n",
        "<img src=x onerror=alert(1)> <script>alert(2)</script>\n\n[a](javascript:alert(3)) [b](JAVA\tSCRIPT:alert(4)) ",
        "[c](data:text/html,<script>5</script>) ![d](https://attacker.example/look.png) ![e](//attacker.example/look.png)\n\n",
        "```workings\nlet said = given(\"<b onclick=x>\", \"<script>alert(6)</script>\");\n```\n\n`? said`\n",
    ));
    let body = json!({"number": 1, "when": "2026-11-25", "words": "<script>alert(7)</script>", "place": "<i>"});
    desk.post("/plan/p/ledger", "", body).await.is(200);
    for path in ["/plan/p", "/", "/plan/p/sheet"] {
        let page = desk.get(path).await.is(200);
        let html = if path.ends_with("sheet") {
            page.json()["article"].as_str().unwrap().to_owned()
        } else {
            page.text().to_owned()
        };
        assert!(!html.contains("<script>"), "{path}");
        assert!(!html.contains("<b onclick") && !html.contains("<img src=x") && !html.contains("<i>\""), "{path}");
        assert!(!html.to_lowercase().contains("href=\"javascript") && !html.contains("href=\"data:"), "{path}");
        assert!(!html.contains("src=\"https://attacker") && !html.contains("src=\"//attacker"), "{path}");
    }
    let page = desk.get("/plan/p").await;
    assert!(page.text().contains("&lt;script&gt;alert(2)&lt;/script&gt;"), "it is shown as it was written");
}
