//! Pages as text, Markdown and HTML.

use matchmark::render::page::{html, markdown, text};
use matchmark::render::text::Colour;
use matchmark::report::page::{Block, Item, Line, Page, Section};

fn item(about: &str, says: &str, under: Vec<Block>) -> Item {
    Item {
        about: about.to_owned(),
        says: says.to_owned(),
        under,
    }
}

/// A page with every form of block in it.
fn all(words: &str) -> Page {
    let w = || words.to_owned();
    Page {
        title: w(),
        lead: vec![w(), w()],
        sections: vec![Section {
            head: w(),
            blocks: vec![
                Block::Text(w()),
                Block::Items(vec![
                    item(
                        words,
                        words,
                        vec![
                            Block::Text(w()),
                            Block::Items(vec![item(words, words, Vec::new())]),
                        ],
                    ),
                    item(
                        words,
                        "",
                        vec![Block::Lines(vec![
                            Line::Kept(w()),
                            Line::Gone(w()),
                            Line::New(w()),
                        ])],
                    ),
                ]),
                Block::Table {
                    heads: vec![w(), w()],
                    rows: vec![vec![w(), w()], vec![w(), "24.50 EUR".to_owned()]],
                    figures: vec![false, true],
                },
                Block::Lines(vec![Line::New(w())]),
            ],
        }],
    }
}

#[test]
fn a_page_in_three_forms() {
    let page = all("one two");
    assert!(text(&page, 80, Colour::No).starts_with("one two\n"));
    assert!(markdown(&page).starts_with("# one two\n\n"));
    assert!(html(&page).ends_with("</html>\n"));
}
