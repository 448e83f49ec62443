//! What differs between two lists: which items came, went, were reworded or moved.

use serde::Serialize;
use serde_json::Value;

/// From this likeness on, a line counts as reworded and not as another: 0 for nothing in common, 1 for equal.
const REWORDED: f64 = 0.5;

/// The same of both editions.
#[derive(Clone, Debug, Default, PartialEq, Serialize)]
pub struct Sides<T> {
    /// Of the older.
    pub was: T,
    /// Of the newer.
    pub now: T,
}

/// One item of a list, with its place from 1.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct Item {
    /// Its place.
    pub place: usize,
    /// What it says.
    pub text: String,
}

/// What differs in a list.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct ListDiffers {
    /// Items that came, by their new places.
    pub added: Vec<Item>,
    /// Items that went, by their old places.
    pub removed: Vec<Item>,
    /// Lines that say nearly the same.
    pub reworded: Vec<Sides<Item>>,
    /// What both have, in the older and in the newer order, where these differ.
    pub reordered: Option<Sides<Vec<String>>>,
}

/// What differs; `lines` are texts that can be reworded.
pub(super) fn differs(old: &[Value], new: &[Value], lines: bool) -> ListDiffers {
    let items = |list: &[Value]| -> Vec<Item> {
        let texts = list
            .iter()
            .map(|item| item.as_str().unwrap_or_default().to_owned());
        texts
            .zip(1..)
            .map(|(text, place)| Item { place, text })
            .collect()
    };
    let (old, new) = (items(old), items(new));
    let (mut removed, mut added) = (missing(&old, &new), missing(&new, &old));
    let stays = |items: &[Item], changed: &[Item]| -> Vec<String> {
        let stays = items.iter().filter(|item| !changed.contains(item));
        stays.map(|item| item.text.clone()).collect()
    };
    let (was, now) = (stays(&old, &removed), stays(&new, &added));
    ListDiffers {
        reordered: (was != now).then_some(Sides { was, now }),
        reworded: if lines {
            reworded(&mut removed, &mut added)
        } else {
            Vec::new()
        },
        added,
        removed,
    }
}

/// The items of a list that the other has not, or has fewer of: of equal ones, the last.
fn missing(items: &[Item], others: &[Item]) -> Vec<Item> {
    let count = |items: &[Item], text: &str| items.iter().filter(|item| item.text == text).count();
    items
        .iter()
        .filter(|item| count(&items[..item.place - 1], &item.text) >= count(others, &item.text))
        .cloned()
        .collect()
}

/// Takes out the pairs that say nearly the same, the most similar first; of equally similar ones those
/// nearest to each other, then those nearest to the top.
fn reworded(removed: &mut Vec<Item>, added: &mut Vec<Item>) -> Vec<Sides<Item>> {
    let mut pairs: Vec<(f64, Sides<Item>)> = Vec::new();
    for was in removed.iter() {
        for now in added.iter() {
            let likeness = strsim::normalized_levenshtein(&was.text, &now.text);
            if likeness >= REWORDED {
                let (was, now) = (was.clone(), now.clone());
                pairs.push((likeness, Sides { was, now }));
            }
        }
    }
    let first = |pair: &Sides<Item>| pair.was.place.min(pair.now.place);
    let apart = |pair: &Sides<Item>| pair.was.place.abs_diff(pair.now.place);
    pairs.sort_by(|(a, one), (b, other)| {
        b.total_cmp(a)
            .then((apart(one), first(one)).cmp(&(apart(other), first(other))))
    });
    let mut reworded = Vec::new();
    for (_, pair) in pairs {
        if removed.contains(&pair.was) && added.contains(&pair.now) {
            removed.retain(|item| *item != pair.was);
            added.retain(|item| *item != pair.now);
            reworded.push(pair);
        }
    }
    reworded.sort_by_key(|pair| (first(pair), apart(pair)));
    reworded
}
