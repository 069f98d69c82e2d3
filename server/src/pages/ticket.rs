//! What one shop is handed.

use axum::extract::{Path, Query, State};
use axum::http::{HeaderMap, header};
use axum::response::{Html, IntoResponse, Response};
use engine::document::html;
use minijinja::context;

use super::{Asked, name, page, plan, studio, told};
use crate::app::App;
use crate::names::Name;
use crate::notebook::Notebook;
use crate::trouble::Refusal;

/// The sheet of paper a ticket is printed on.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Paper {
    Letter,
    A4,
}

impl Paper {
    pub(crate) fn of(asked: Option<&str>) -> Self {
        if asked.is_some_and(|asked| asked.eq_ignore_ascii_case("a4")) { Self::A4 } else { Self::Letter }
    }

    pub(crate) fn word(self) -> &'static str {
        match self {
            Self::Letter => "letter",
            Self::A4 => "a4",
        }
    }

    fn other(self) -> Self {
        match self {
            Self::Letter => Self::A4,
            Self::A4 => Self::Letter,
        }
    }
}

/// All a ticket needs.
pub(crate) struct Handed {
    pub(crate) context: minijinja::Value,
    pub(crate) running: String,
}

/// The ticket's page.
pub(crate) async fn get(
    State(app): State<App>,
    Path((plan, role)): Path<(String, String)>,
    Query(asked): Query<Asked>,
    headers: HeaderMap,
) -> Response {
    let paper = Paper::of(asked.paper.as_deref());
    let made = match name(&plan) {
        Ok(name) => {
            let css = format!(
                "/plan/{}/ticket/{}/paper.css?paper={}",
                name.in_url(),
                engine::document::html::escape(&role),
                paper.word()
            );
            let studio = studio(&app);
            app.with(move |notebook| handed(notebook, &name, &role, paper, &studio, &css)).await
        }
        Err(refusal) => Err(refusal),
    };
    let result: Result<Html<String>, Refusal> = made.and_then(|handed| page(&app, "ticket.html", handed.context));
    result.map_or_else(|refusal| told(&app, &headers, refusal), IntoResponse::into_response)
}

/// The running text and size of the printed sheet.
pub(crate) async fn paper(
    State(app): State<App>,
    Path((plan, role)): Path<(String, String)>,
    Query(asked): Query<Asked>,
) -> Result<Response, Refusal> {
    let (name, paper, studio) = (name(&plan)?, Paper::of(asked.paper.as_deref()), studio(&app));
    let handed = app.with(move |notebook| handed(notebook, &name, &role, paper, &studio, "")).await?;
    Ok(([(header::CONTENT_TYPE, "text/css; charset=utf-8")], style(paper, &handed.running)).into_response())
}

/// Everything on the ticket of one shop.
pub(crate) fn handed(
    notebook: &Notebook,
    name: &Name,
    role: &str,
    paper: Paper,
    studio: &str,
    css: &str,
) -> Result<Handed, Refusal> {
    let kept = notebook.text(name)?;
    let worked = notebook.work_out(name, &kept.text, None)?;
    let revision = notebook.revision(name, &kept.etag)?;
    let view = notebook.view(&worked.document);
    let Some((_, shop)) = view.shops.iter().find(|(one, _)| one == role) else {
        let roles: Vec<_> = view.shops.iter().map(|(role, _)| role.as_str()).collect();
        return Err(Refusal::missing(
            format!("this plan has no shop called `{role}`"),
            format!("its head names {}", if roles.is_empty() { "none yet".into() } else { roles.join(", ") }),
        ));
    };
    let ticket = html::ticket(&worked.document, &worked.evaluation, &view, role);
    let title = plan::title(&worked.document, name);
    let issued = notebook.today();
    let total = worked.evaluation.cost(Some(role)).map(|sum| sum.to_string());
    let steps: Vec<_> = ticket
        .steps
        .iter()
        .map(|step| {
            format!(
                "{}: {}",
                step.what,
                if step.start == step.end {
                    step.end.brief()
                } else {
                    format!("{} to {}", step.start.brief(), step.end.brief())
                }
            )
        })
        .collect();
    let last = ticket.steps.iter().map(|step| step.end).max();
    let mut block: Vec<_> = worked
        .block
        .iter()
        .filter(|(label, _)| matches!(*label, "edition" | "size" | "weight"))
        .map(|(label, value)| context! { label => *label, value })
        .collect();
    block.extend(last.map(|day| context! { label => "needed by", value => day.to_string() }));
    let costs = (!ticket.costs.is_empty()).then(|| {
        context! { rows => ticket.costs.iter().map(|line| context! { what => line.what.clone(), amount => line.amount.to_string() }).collect::<Vec<_>>(), total => total }
    });
    let running = format!("{title}, for {shop} · revision {revision} · {issued}");
    let article = if ticket.article.trim().is_empty() {
        "<p>No section of this plan is for this shop yet.</p>".to_owned()
    } else {
        ticket.article
    };
    let article = if steps.is_empty() {
        article
    } else {
        let steps: String = steps.iter().map(|step| format!("<li>{}</li>", html::escape(step))).collect();
        format!("{article}<h2>Dates</h2><ul class=\"dates\">{steps}</ul>")
    };
    Ok(Handed {
        context: context! {
            studio => studio,
            today => issued.to_string(),
            slug => name.in_url(),
            shop => context! { role => role, name => shop },
            title => title,
            subtitle => format!("Job ticket for {shop}, {role}"),
            revision => revision.to_string(),
            issued => issued.to_string(),
            paper => paper.word(),
            other_paper => paper.other().word(),
            article => article,
            block => block,
            costs => costs,
            ticks => Vec::<String>::new(),
            cautions => ticket.cautions,
            css_url => css,
        },
        running,
    })
}

/// Size, margins and running lines of the printed sheet.
pub(crate) fn style(paper: Paper, running: &str) -> String {
    let size = match paper {
        Paper::Letter => "letter",
        Paper::A4 => "a4",
    };
    let mut words = String::new();
    for c in running.chars() {
        // A style sheet's own way of writing any sign, so that no title can end the string.
        if c.is_alphanumeric() || " ,.-·".contains(c) {
            words.push(c)
        } else {
            words.push_str(&format!("\\{:x} ", u32::from(c)))
        }
    }
    format!(
        "@page {{ size: {size}; margin: 16mm 14mm 18mm 22mm; @bottom-left {{ content: \"{words}\"; font: 8.5pt \"Plan\", serif }} @bottom-right {{ content: \"page \" counter(page) \" of \" counter(pages); font: 8.5pt \"Plan\", serif }} }}\n"
    )
}
