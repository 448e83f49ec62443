//! A report as a page for the printer: HTML that needs nothing else.

use maud::{DOCTYPE, Markup, PreEscaped, html};

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
.cards h1{font-size:1.4em}.cards h2{font-size:1.1em;margin:.5em 0 .2em}\
.two article{min-height:130mm}.four article{width:50%;min-height:130mm;font-size:8px;padding:5mm}\
.cards article.whole{width:100%;height:auto;break-before:page}}";

/// One report on a page.
pub fn printed(title: &str, paper: &Paper) -> String {
    document(title, STYLE, &html! { main { (paper.html()) } })
}

/// Reports as cards, so many on a sheet of A4, and behind them drawings on sheets of their own. The drawings are SVG and
/// stand as they are.
pub fn cards(title: &str, cards: &[Paper], four: bool, drawings: &[String]) -> String {
    let class = if four { "cards four" } else { "cards two" };
    let body = html! {
        main class=(class) {
            @for card in cards { article { (card.html()) } }
            @for drawing in drawings { article class="whole" { (PreEscaped(drawing)) } }
        }
    };
    document(title, STYLE, &body)
}

/// A whole HTML document that needs no other file.
pub(crate) fn document(title: &str, style: &str, body: &Markup) -> String {
    let page = html! {
        (DOCTYPE)
        html lang="en" {
            head {
                meta charset="utf-8";
                meta name="viewport" content="width=device-width, initial-scale=1";
                title { (clean(title)) }
                style { (PreEscaped(style)) }
            }
            body { (body) }
        }
    };
    page.into_string()
}

impl Paper {
    /// As HTML, without the page around it.
    pub(crate) fn html(&self) -> Markup {
        html! {
            @for group in self.0.chunk_by(|one, other| is_item(one) && is_item(other)) {
                @if is_item(&group[0]) {
                    ul { @for piece in group { (html_of(piece)) } }
                } @else {
                    (html_of(&group[0]))
                }
            }
        }
    }
}

fn is_item(piece: &Piece) -> bool {
    matches!(piece, Piece::Item(_))
}

fn html_of(piece: &Piece) -> Markup {
    match piece {
        Piece::Title(text) => html! { h1 { (clean(text)) } },
        Piece::Heading(text) => html! { h2 { (clean(text)) } },
        Piece::Text(text) => html! { p { (clean(text)) } },
        Piece::Item(text) => html! { li { (clean(text)) } },
        Piece::Verbatim(lines) => {
            html! { pre { @for line in lines.lines() { (clean(line)) "\n" } } }
        }
        Piece::Picture { .. } => html! {},
        Piece::Table {
            header,
            rows,
            figures,
        } => {
            let class = |column: usize| figures.contains(&column).then_some("n");
            html! {
                table {
                    thead { tr {
                        @for (column, text) in header.iter().enumerate() {
                            th scope="col" class=[class(column)] { (text) }
                        }
                    } }
                    tbody {
                        @for row in rows { tr {
                            @for (column, text) in row.iter().enumerate() {
                                td class=[class(column)] { (clean(text)) }
                            }
                        } }
                    }
                }
            }
        }
    }
}
