//! The sheet of a size with thousands of cases: parts of some hundred cards, in the order of what one sees of a cube in the
//! hand, and a page that leads from there to the case.

use super::card::grounds;
use super::{Card, INTRODUCTION, PAGE_ENDED, Section, cases, page_begun};
use crate::cube::{capital, wing_word};
use crate::diagnose::{Case, Fate};
use std::collections::BTreeMap;
use std::fmt::Write;
use std::ops::Range;

/// The most cards of a part: a hundred sheets of paper, and 5 MB, which a browser opens in a second or two.
const MOST_CARDS: usize = 200;

/// All cases of a size, laid out in parts.
#[derive(Clone, Debug)]
pub struct PartedSheet {
    n: usize,
    cases: Vec<Case>,
    parts: Vec<Part>,
}

/// A part of a sheet: a page of its own.
#[derive(Clone, Debug)]
pub struct Part {
    /// Which one, from 1.
    number: usize,
    /// Cases that look alike layer by layer, kept together.
    runs: Vec<Range<usize>>,
}

/// What decides where on the sheet a case stands.
type Look = (Section, Vec<Fate>);

fn look(case: &Case) -> Look {
    (Section::of(case), case.fates())
}

impl PartedSheet {
    /// Lays out all cases of a cube of order `n`.
    pub fn of(n: usize) -> Self {
        let mut cases = Case::all(n);
        cases.sort_by_cached_key(look);
        let mut parts: Vec<Part> = Vec::new();
        let mut runs: Vec<Range<usize>> = Vec::new();
        let mut close = |runs: &mut Vec<Range<usize>>| {
            if !runs.is_empty() {
                let number = parts.len() + 1;
                let runs = std::mem::take(runs);
                parts.push(Part { number, runs });
            }
        };
        let mut at = 0;
        for alike in cases.chunk_by(|one, other| look(one) == look(other)) {
            let end = at + alike.len();
            let open = runs.first().map_or(at, |first| first.start);
            if end - open > MOST_CARDS {
                close(&mut runs);
            }
            while end - at > MOST_CARDS {
                runs.push(at..at + MOST_CARDS);
                close(&mut runs);
                at += MOST_CARDS;
            }
            runs.push(at..end);
            at = end;
        }
        close(&mut runs);
        Self { n, cases, parts }
    }

    /// How many cases there are.
    pub const fn count(&self) -> usize {
        self.cases.len()
    }

    /// The parts, in their order.
    pub fn parts(&self) -> &[Part] {
        &self.parts
    }

    /// The cases of a part, each with its number on the sheet.
    pub fn numbered(&self, part: &Part) -> Vec<(usize, &Case)> {
        let range = part.range();
        range.map(|at| (at + 1, &self.cases[at])).collect()
    }

    /// The page of a part whose cases are these cards.
    pub fn page(&self, part: &Part, cards: &[Card]) -> String {
        let n = self.n;
        let range = part.range();
        let title = format!(
            "Cases {} to {} of the {n}×{n}×{n}",
            range.start + 1,
            range.end
        );
        let ways = self.ways(part);
        let mut html = page_begun("parted", &title, &format!("{ways}{INTRODUCTION}"));
        html.push_str(&grounds(n, cards));
        for run in &part.runs {
            let case = &self.cases[run.start];
            // Writing to a String cannot fail, here and below.
            let _ = write!(
                html,
                "<section>\n<h2>{} <small>{}</small></h2>\n{}",
                Section::of(case).title(),
                cases(run.len()),
                self.layers(case)
            );
            for card in &cards[run.start - range.start..run.end - range.start] {
                html.push_str(&card.html);
            }
            html.push_str("</section>\n");
        }
        html.push_str(&ways);
        html.push_str(PAGE_ENDED);
        html
    }

    /// From a part to those beside it and to the page that leads to all.
    fn ways(&self, part: &Part) -> String {
        let link = |number: usize, words: &str| {
            let beside = self.parts.get(number.wrapping_sub(1));
            beside.map(|beside| format!(r#"<a href="{}">{words}</a> "#, beside.file_name()))
        };
        format!(
            "<nav>{}<a href=\"index.html\">All cases</a> {}</nav>\n",
            link(part.number - 1, "Part before").unwrap_or_default(),
            link(part.number + 1, "Part after").unwrap_or_default()
        )
    }

    /// What one sees of a case, layer by layer.
    fn layers(&self, case: &Case) -> String {
        let fates = case.fates();
        let told: Vec<String> = (0..fates.len())
            .map(|orbit| format!("<li>{}: {}</li>", self.wings(orbit), fates[orbit].words()))
            .collect();
        match told.len() {
            0 => String::new(),
            _ => format!("<ul class=\"layers\">{}</ul>\n", told.concat()),
        }
    }

    /// "Outer wings".
    fn wings(&self, orbit: usize) -> String {
        format!("{}s", capital(wing_word(self.n, orbit)))
    }

    /// The page that leads to all parts.
    pub fn index(&self) -> String {
        let n = self.n;
        let seen_from = if n % 2 == 1 {
            "as seen from the midge"
        } else {
            "as seen from the innermost wings where those are whole, otherwise from the group as a whole"
        };
        let mut html = page_begun(
            "index",
            &format!("All last-group and parity cases of the {n}×{n}×{n}"),
            &format!(
                "<p>There are {} cases in {} parts. To find yours, look at the open groups layer by layer, from the \
                 outer wings inwards, {seen_from}: are the wings of that layer whole, flipped, or exchanged? The \
                 tables lead to the first case that looks like that; the number says how many do.</p>\n<p>If the \
                 place is empty or yours is not there, turn one of the two groups end for end: wings that are both \
                 exchanged then lie the other way round in both groups where they did in none, and the reverse.</p>\n",
                self.count(),
                self.parts.len()
            ),
        );
        for section in [Section::OneGroup, Section::TwoGroups, Section::Reduced] {
            self.write_section(&mut html, section);
        }
        html.push_str("<section>\n<h2>All parts</h2>\n<p class=\"parts\">");
        for part in &self.parts {
            let Range { start, end } = part.range();
            let _ = write!(
                html,
                r#"<a href="{}">{} to {end}</a> "#,
                part.file_name(),
                start + 1
            );
        }
        html.push_str("</p>\n</section>\n");
        html.push_str(PAGE_ENDED);
        html
    }

    fn write_section(&self, html: &mut String, section: Section) {
        // The cases as by their three outer layers: how many, and the first.
        let mut alike: BTreeMap<[Fate; 3], Cell> = BTreeMap::new();
        let mut all = Cell::default();
        for part in &self.parts {
            for at in part.range() {
                let case = &self.cases[at];
                if Section::of(case) != section {
                    continue;
                }
                let way = || format!("{}#{}", part.file_name(), case.id);
                all.add(way);
                if let [outer, second, third, ..] = case.fates()[..] {
                    alike.entry([outer, second, third]).or_default().add(way);
                }
            }
        }
        if all.count == 0 {
            return;
        }
        let _ = write!(
            html,
            "<section>\n<h2>{} <small>{}</small></h2>\n",
            section.title(),
            all.link(&cases(all.count))
        );
        if section == Section::TwoGroups {
            let alike: Vec<([Fate; 3], Cell)> = alike.into_iter().collect();
            for table in alike.chunk_by(|(one, _), (other, _)| one[0] == other[0]) {
                self.write_table(html, table);
            }
        }
        html.push_str("</section>\n");
    }

    /// The cases that look alike in the outermost layer, as a table by the next two.
    fn write_table(&self, html: &mut String, alike: &[([Fate; 3], Cell)]) {
        let mut columns: Vec<Fate> = alike.iter().map(|(fates, _)| fates[2]).collect();
        columns.sort_unstable();
        columns.dedup();
        let _ = write!(
            html,
            "<h3>{}: {}</h3>\n<table>\n<thead><tr><th></th><th colspan=\"{}\">{}</th></tr>\n<tr><th>{}</th>",
            self.wings(0),
            alike[0].0[0].words(),
            columns.len(),
            self.wings(2),
            self.wings(1)
        );
        for column in &columns {
            let _ = write!(html, "<th>{}</th>", column.words());
        }
        html.push_str("</tr></thead>\n");
        for row in alike.chunk_by(|(one, _), (other, _)| one[1] == other[1]) {
            let _ = write!(html, "<tr><th>{}</th>", row[0].0[1].words());
            for column in &columns {
                let found = row.iter().find(|(fates, _)| fates[2] == *column);
                let shown =
                    found.map_or_else(String::new, |(_, cell)| cell.link(&cell.count.to_string()));
                let _ = write!(html, "<td>{shown}</td>");
            }
            html.push_str("</tr>\n");
        }
        html.push_str("</table>\n");
    }
}

impl Part {
    /// The name of its page.
    pub fn file_name(&self) -> String {
        format!("part-{:03}.html", self.number)
    }

    /// Where its cases stand among all.
    fn range(&self) -> Range<usize> {
        let start = self.runs.first().map_or(0, |run| run.start);
        start..self.runs.last().map_or(start, |run| run.end)
    }
}

/// Cases that one place of the index leads to.
#[derive(Clone, Debug, Default)]
struct Cell {
    count: usize,
    /// Where the first of them is.
    first: String,
}

impl Cell {
    fn add(&mut self, way: impl FnOnce() -> String) {
        if self.count == 0 {
            self.first = way();
        }
        self.count += 1;
    }

    fn link(&self, words: &str) -> String {
        format!(r#"<a href="{}">{words}</a>"#, self.first)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::advise::example;
    use std::collections::BTreeSet;

    /// Source of the counts: Burnside's lemma, as in the tests of the cases; and the three parities of a reduced cube of
    /// even order.
    #[test]
    fn every_case_stands_in_one_part() {
        for (n, count) in [(9, 1951), (10, 5791 + 3), (11, 43135)] {
            let sheet = PartedSheet::of(n);
            assert_eq!(sheet.count(), count);
            let mut ids = BTreeSet::new();
            let mut number = 0;
            for part in sheet.parts() {
                let numbered = sheet.numbered(part);
                assert!((1..=MOST_CARDS).contains(&numbered.len()));
                for (given, case) in numbered {
                    number += 1;
                    assert_eq!(given, number);
                    assert!(ids.insert(case.id.clone()), "{} twice", case.id);
                }
            }
            assert_eq!(ids.len(), count);
        }
    }

    /// The numbers in the tables of the index are those of all cases, and every way leads to a case of the part it names,
    /// the first that looks as the place says.
    #[test]
    fn the_index_leads_to_every_case() {
        let n = 9;
        let sheet = PartedSheet::of(n);
        let index = sheet.index();
        let looks: Vec<Look> = sheet.cases.iter().map(look).collect();
        let mut counted = 0;
        let mut ways = 0;
        for cell in index.split("<td><a href=\"").skip(1) {
            let (way, rest) = cell.split_once("\">").unwrap();
            let count: usize = rest.split_once('<').unwrap().0.parse().unwrap();
            let (file, id) = way.split_once('#').unwrap();
            let part = sheet.parts().iter().find(|part| part.file_name() == file);
            let numbered = sheet.numbered(part.unwrap());
            let &(first, case) = numbered.iter().find(|(_, case)| case.id == id).unwrap();
            // On a 9×9×9 the tables tell all layers there are.
            let sought = look(case);
            let alike = looks.iter().filter(|look| **look == sought).count();
            let before = looks.iter().position(|look| *look == sought);
            assert_eq!((before, alike), (Some(first - 1), count));
            counted += count;
            ways += 1;
        }
        // All but the seven of one open group.
        assert_eq!(counted, 1951 - 7);
        assert!(ways > 100, "{ways}");
    }

    #[test]
    fn a_part_has_its_cards_and_ways_on() {
        let n = 9;
        let sheet = PartedSheet::of(n);
        let [first, second, ..] = sheet.parts() else {
            panic!("there are several");
        };
        let mut short = second.clone();
        short.runs.truncate(1);
        short.runs[0].end = short.runs[0].start + 3;
        let made = |(number, case): (usize, &Case)| Card::of(number, &example(n, case).unwrap());
        let cards: Vec<Card> = sheet.numbered(&short).into_iter().map(made).collect();
        let page = sheet.page(&short, &cards);
        assert_eq!(page.matches("<article ").count(), 3);
        for card in &cards {
            assert!(page.contains(&card.html));
        }
        // Each picture lies on a cube that is in the page once.
        let lies_on: BTreeSet<&str> = page
            .split("<use href=\"#")
            .skip(1)
            .map(|rest| rest.split_once('"').unwrap().0)
            .collect();
        assert!(!lies_on.is_empty());
        for id in lies_on {
            assert_eq!(page.matches(&format!("<g id=\"{id}\">")).count(), 1, "{id}");
        }
        for way in [
            first.file_name(),
            "part-003.html".to_owned(),
            "index.html".to_owned(),
        ] {
            assert!(page.contains(&format!("<a href=\"{way}\">")), "{way}");
        }
        for outside in ["src=", "url(", "@import", "<script", "<link", "http://"] {
            let page = page.replace("http://www.w3.org/2000/svg", "");
            assert!(!page.contains(outside), "{outside}");
        }
    }
}
