//! A report as a page for the printer: HTML that needs nothing else.

use super::harmless::clean;
use super::paper::{Paper, Piece};

/// What the pages look like. On paper a card takes its share of the sheet.
const STYLE: &str = "\
:root{color-scheme:light dark}\
body{font:16px/1.4 Georgia,serif;max-width:60rem;margin:2rem auto;padding:0 1rem}\
h1{font-size:1.5rem;margin:0 0 .5rem}h2{font-size:1.1rem;margin:1.2rem 0 .3rem;border-bottom:1px solid}\
p,ul{margin:.3rem 0}li{margin:.1rem 0}\
table{border-collapse:collapse;width:100%;margin:.5rem 0;font-size:.9rem}\
th,td{text-align:left;vertical-align:top;padding:.2rem .5rem;border-bottom:1px solid}\
.n{text-align:right}svg{max-width:100%;height:auto}\
.cards article{border:1px solid;padding:1rem;margin:0 0 1rem;break-inside:avoid}\
@page{size:A4;margin:12mm}\
@media print{body{margin:0;max-width:none;font-size:11px}\
.cards{display:flex;flex-wrap:wrap}\
.cards article{box-sizing:border-box;width:100%;margin:0}\
.two article{height:134mm}.four article{width:50%;height:134mm;font-size:9px}\
.cards article.whole{width:100%;height:auto;break-before:page}}";

/// One report on a page.
pub fn printed(title: &str, paper: &Paper) -> String {
    page(title, &format!("<main>\n{}</main>\n", paper.html()))
}

/// Reports as cards, so many on a sheet of A4, and behind them drawings on sheets of their own. The drawings are SVG and
/// stand as they are.
pub fn cards(title: &str, cards: &[Paper], four: bool, drawings: &[String]) -> String {
    let class = if four { "cards four" } else { "cards two" };
    let mut body = format!("<main class=\"{class}\">\n");
    for card in cards {
        body += &format!("<article>\n{}</article>\n", card.html());
    }
    for drawing in drawings {
        body += &format!("<article class=\"whole\">\n{drawing}</article>\n");
    }
    page(title, &format!("{body}</main>\n"))
}

fn page(title: &str, body: &str) -> String {
    let title = safe(title);
    format!(
        "<!doctype html>\n<html lang=\"en\">\n<head>\n<meta charset=\"utf-8\">\n\
         <meta name=\"viewport\" content=\"width=device-width, initial-scale=1\">\n<title>{title}</title>\n\
         <style>{STYLE}</style>\n</head>\n<body>\n{body}</body>\n</html>\n"
    )
}

impl Paper {
    /// As HTML, without the page around it.
    fn html(&self) -> String {
        let mut html = String::new();
        let mut in_list = false;
        for piece in &self.0 {
            let item = matches!(piece, Piece::Item(_));
            if item != in_list {
                html += if item { "<ul>\n" } else { "</ul>\n" };
                in_list = item;
            }
            match piece {
                Piece::Title(text) => html += &format!("<h1>{}</h1>\n", safe(text)),
                Piece::Heading(text) => html += &format!("<h2>{}</h2>\n", safe(text)),
                Piece::Text(text) => html += &format!("<p>{}</p>\n", safe(text)),
                Piece::Item(text) => html += &format!("<li>{}</li>\n", safe(text)),
                Piece::Picture { .. } => {}
                Piece::Table {
                    header,
                    rows,
                    figures,
                } => html += &table(header, rows, figures),
            }
        }
        if in_list {
            html += "</ul>\n";
        }
        html
    }
}

fn table(header: &[&str], rows: &[Vec<String>], figures: &[usize]) -> String {
    let class = |column: usize| {
        if figures.contains(&column) {
            " class=\"n\""
        } else {
            ""
        }
    };
    let heads = header.iter().enumerate();
    let heads: String = heads
        .map(|(column, text)| format!("<th scope=\"col\"{}>{}</th>", class(column), safe(text)))
        .collect();
    let mut html = format!("<table>\n<thead><tr>{heads}</tr></thead>\n<tbody>\n");
    for row in rows {
        let cells = row.iter().enumerate();
        let cells: String = cells
            .map(|(column, text)| format!("<td{}>{}</td>", class(column), safe(text)))
            .collect();
        html += &format!("<tr>{cells}</tr>\n");
    }
    html + "</tbody>\n</table>\n"
}

/// Text that HTML shows as it is.
fn safe(text: &str) -> String {
    let mut safe = String::new();
    for c in clean(text).chars() {
        match c {
            '&' => safe.push_str("&amp;"),
            '<' => safe.push_str("&lt;"),
            '>' => safe.push_str("&gt;"),
            '"' => safe.push_str("&quot;"),
            c => safe.push(c),
        }
    }
    safe
}
