//! Names no plan should have, asked for in an address or found in the folder.

use axum::body::Body;
use axum::http::{Method, Request, header};

use crate::desk::{Desk, words};
use crate::program::{copied, copy, shipped};

#[tokio::test]
async fn no_name_leads_out_of_the_notebook() {
    let outer = tempfile::tempdir().unwrap();
    std::fs::write(outer.path().join("secret.md"), "# Secret\n").unwrap();
    let folder = tempfile::tempdir_in(outer.path()).unwrap();
    copy(&shipped(), folder.path());
    let desk = Desk::on(folder);
    let long = "x".repeat(300);
    for name in [
        "..%2Fsecret",
        "%2E%2E%2Fsecret",
        "..%5Csecret",
        "shops%2F..%2F..%2Fsecret",
        "%2Fetc%2Fpasswd",
        "%2e%2e",
        "first-plan%00",
        "first-plan%00.md",
        "%00",
        "a%0Ab",
        "a%2F%2Fb",
        ".hidden",
        "con",
        "a%3Ab",
        "a%E2%80%AEb",
        long.as_str(),
    ] {
        for (method, part) in [
            (Method::GET, ""),
            (Method::GET, "/text"),
            (Method::PUT, "/text"),
            (Method::POST, "/draft"),
            (Method::POST, "/copy"),
            (Method::GET, "/ticket/lab"),
        ] {
            let request = Request::builder()
                .method(method.clone())
                .uri(format!("/plan/{name}{part}"))
                .header(header::HOST, "localhost")
                .header("sec-fetch-site", "same-origin")
                .header(header::IF_MATCH, "\"0000\"");
            let reply = desk.ask(request.body(Body::from("{\"title\":\"x\"}")).unwrap()).await;
            assert!(reply.status.is_client_error(), "{method} {name}{part}: {}", reply.status);
            assert!(!String::from_utf8_lossy(&reply.body).contains("# Secret"), "{name}");
        }
    }
    assert_eq!(std::fs::read_to_string(outer.path().join("secret.md")).unwrap(), "# Secret\n");
    assert_eq!(std::fs::read_dir(outer.path()).unwrap().count(), 2, "nothing was made outside");
}

#[tokio::test]
async fn a_refused_name_is_told_with_the_reason() {
    let desk = Desk::shipped();
    for (name, reason) in [
        ("..%2Fsecret", "it begins or ends with a point, a space or a dash"),
        ("con", "some systems keep this name for themselves"),
        ("a%2Fb%2Fc%2Fd", "it lies more than two folders deep"),
    ] {
        let told = desk.send(Method::GET, &format!("/plan/{name}/text"), "", "").await.is(404).told();
        assert!(told.0.ends_with(&format!(" is not a name of a plan: {reason}")), "{name}: {}", told.0);
        assert_eq!(told.1, "use letters, digits, spaces, `-` and `_`");
    }
    let reply = desk.get("/plan/a%00b/text").await.is(400);
    assert!(reply.text().contains("this address holds bytes that are not text"), "{}", reply.text());
}

#[tokio::test]
async fn a_name_in_any_script_with_spaces_and_points_works_all_the_way() {
    let desk = Desk::shipped();
    for (file, address) in [
        ("Salt Works, Low Tide.md", "Salt%20Works%2C%20Low%20Tide"),
        ("v1.2.md", "v1.2"),
        ("Été à l'étang.md", "%C3%89t%C3%A9%20%C3%A0%20l%27%C3%A9tang"),
        ("干潟.md", "%E5%B9%B2%E6%BD%9F"),
        ("old/deep/one.md", "old%2Fdeep%2Fone"),
    ] {
        std::fs::create_dir_all(desk.path(file).parent().unwrap()).unwrap();
        desk.outside(file, "+++\ntitle = \"Named\"\nedition = 2\n+++\n# Named\n");
        desk.notebook.look();
        assert!(desk.get("/").await.text().contains(&format!("href=\"/plan/{address}\"")), "{file}");
        desk.get(&format!("/plan/{address}")).await.is(200);
        let mark = desk.mark(address).await;
        desk.put(address, &mark, "# Renamed\n").await.is(200);
        assert_eq!(desk.file(file), "# Renamed\n");
    }
}

#[tokio::test]
async fn a_name_with_its_accents_apart_is_found_too() {
    // Some systems write é as e and a combining accent: the file's own name stays as it is.
    let desk = Desk::shipped();
    let apart = "e\u{301}tang.md";
    desk.outside(apart, "# Pond\n");
    desk.notebook.look();
    assert!(words(desk.get("/").await.text()).contains("Pond"));
    for address in ["%C3%A9tang", "e%CC%81tang"] {
        desk.get(&format!("/plan/{address}")).await.is(200);
        let mark = desk.mark(address).await;
        desk.put(address, &mark, "# Pond again\n").await.is(200);
        assert_eq!(desk.file(apart), "# Pond again\n");
        assert!(!desk.path("\u{e9}tang.md").exists(), "no second file beside it");
    }
}

#[cfg(unix)]
#[tokio::test]
async fn a_link_out_of_the_folder_is_not_followed() {
    let outer = tempfile::tempdir().unwrap();
    std::fs::write(outer.path().join("secret.md"), "# Secret\n").unwrap();
    std::fs::create_dir(outer.path().join("out")).unwrap();
    std::fs::write(outer.path().join("out/deep.md"), "# Secret too\n").unwrap();
    let folder = copied();
    std::os::unix::fs::symlink(outer.path().join("secret.md"), folder.path().join("link.md")).unwrap();
    std::os::unix::fs::symlink("/etc/passwd", folder.path().join("passwd.md")).unwrap();
    std::os::unix::fs::symlink(outer.path().join("out"), folder.path().join("out")).unwrap();
    std::os::unix::fs::symlink("nowhere", folder.path().join("dangling.md")).unwrap();
    let desk = Desk::on(folder);
    let wall = words(desk.get("/").await.is(200).text());
    assert!(!wall.contains("Secret") && !wall.contains("passwd"), "{wall}");
    for name in ["link", "passwd", "out%2Fdeep", "dangling"] {
        for (method, part) in
            [(Method::GET, ""), (Method::GET, "/text"), (Method::PUT, "/text"), (Method::GET, "/values")]
        {
            let reply = desk.send(method.clone(), &format!("/plan/{name}{part}"), "0000", "# Mine\n").await.is(404);
            assert!(!reply.text().contains("Secret") && !reply.text().contains("root:"), "{name}");
        }
    }
    let told = desk.send(Method::GET, "/plan/link/text", "", "").await.is(404).told();
    assert_eq!(
        told,
        (
            "`link.md` is not a plain file".into(),
            "put the file itself into the notebook's folder, not a link to it".into()
        )
    );
    assert_eq!(std::fs::read_to_string(outer.path().join("secret.md")).unwrap(), "# Secret\n");
    assert_eq!(std::fs::read_to_string(outer.path().join("out/deep.md")).unwrap(), "# Secret too\n");
}

#[tokio::test]
async fn a_folder_called_like_a_plan_is_no_plan() {
    let desk = Desk::shipped();
    std::fs::create_dir(desk.path("folder.md")).unwrap();
    desk.notebook.look();
    desk.get("/").await.is(200);
    let told = desk.send(Method::GET, "/plan/folder/text", "", "").await.is(404).told();
    assert_eq!(told.0, "`folder.md` is not a plain file");
}
