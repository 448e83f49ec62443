//! Where a file that is no YAML went wrong.
//!
//! A parser notices a lost quote or a lost line where the text stops making sense, which may be pages
//! later. So the file is taken apart by its indents, and the smallest part that does not read by itself
//! is blamed.

/// Longer files are not taken apart, in bytes: each level of indents reads the text once more.
const LONGEST: usize = 200_000;
/// How many levels of indents are taken apart.
const DEEPEST: usize = 16;

/// What is wrong with a file. Lines count from 0.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) enum Blame {
    /// These lines are no YAML by themselves.
    Part {
        /// The first of them.
        from: usize,
        /// The lines, a dash before the first taken away.
        lines: Vec<String>,
    },
    /// This line does not stand as deep as those it belongs with.
    Indent(usize),
}

/// The smallest part to blame; `reads` tells whether a text is YAML. `None` where every part reads.
pub(super) fn narrow(text: &str, reads: &impl Fn(&str) -> bool) -> Option<Blame> {
    if text.len() > LONGEST {
        return None;
    }
    let lines: Vec<String> = text.split('\n').map(str::to_owned).collect();
    let mut alike = vec![0_usize; 64];
    for line in lines.iter().filter(|line| is_content(line)) {
        if let Some(count) = alike.get_mut(indent(line)) {
            *count += 1;
        }
    }
    Narrowing { alike, reads }.within(&lines, 0, DEEPEST)
}

struct Narrowing<'r, R> {
    /// How many lines of the file stand at each indent.
    alike: Vec<usize>,
    reads: &'r R,
}

impl<R: Fn(&str) -> bool> Narrowing<'_, R> {
    /// Whether no other line of the file is indented like this one.
    fn is_odd(&self, indent: usize) -> bool {
        self.alike.get(indent) == Some(&1)
    }

    /// The part to blame among lines that start at line `from` of the file.
    fn within(&self, lines: &[String], from: usize, depth: usize) -> Option<Blame> {
        let content: Vec<usize> = (0..lines.len())
            .filter(|at| is_content(&lines[*at]))
            .collect();
        let first = *content.first()?;
        let least = content.iter().map(|at| indent(&lines[*at])).min()?;
        if indent(&lines[first]) > least {
            // Either a line further down lost its indent, or the first lost the heading above it.
            let place = (content.iter()).position(|at| indent(&lines[*at]) == least)?;
            let shallow = content[place];
            // With what belongs to it two blanks deeper, as is usual, it is likely where it should be.
            let heads = content.get(place + 1).map(|at| indent(&lines[*at])) == Some(least + 2);
            let odd = if self.is_odd(least) && !heads && !self.is_odd(indent(&lines[first])) {
                shallow
            } else {
                first
            };
            return Some(Blame::Indent(from + odd));
        }
        let mut starts: Vec<usize> = content
            .into_iter()
            .filter(|at| indent(&lines[*at]) == least)
            .collect();
        starts.push(lines.len());
        for block in starts.windows(2) {
            let [start, end] = *block else { continue };
            let block = &lines[start..end];
            if (self.reads)(&block.join("\n")) {
                continue;
            }
            let inner = (depth > 0).then(|| self.inside(block, from + start, depth - 1));
            if let Some(blame) = inner.flatten() {
                return Some(blame);
            }
            if least > 0 && self.is_odd(least) {
                return Some(Blame::Indent(from + start));
            }
            return Some(Blame::Part {
                from: from + start,
                lines: block.to_vec(),
            });
        }
        None
    }

    /// The part to blame below the first line of a block: the fields of a list's item, or what stands
    /// under a heading.
    fn inside(&self, block: &[String], from: usize, depth: usize) -> Option<Blame> {
        let (heading, body) = block.split_first()?;
        let deep = indent(heading);
        if heading[deep..].starts_with("- ") {
            let mut item = block.to_vec();
            item[0].replace_range(deep..=deep, " ");
            return self.within(&item, from, depth);
        }
        if heading.trim_end().ends_with(':') {
            return self.within(body, from + 1, depth);
        }
        None
    }
}

/// Whether a line holds anything but blanks and a comment.
pub(super) fn is_content(line: &str) -> bool {
    let text = line.trim_start();
    !text.is_empty() && !text.starts_with('#')
}

fn indent(line: &str) -> usize {
    line.len() - line.trim_start_matches(' ').len()
}
