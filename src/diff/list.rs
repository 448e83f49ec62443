//! What differs between two lists: which items came, went, were reworded or moved.

use serde::Serialize;

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
pub(super) fn differs(old: &[String], new: &[String], lines: bool) -> ListDiffers {
    let items = |list: &[String]| -> Vec<Item> {
        let texts = list.iter().cloned().zip(1..);
        texts.map(|(text, place)| Item { place, text }).collect()
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

/// Takes out the pairs that say nearly the same: each is the nearest to the other.
fn reworded(removed: &mut Vec<Item>, added: &mut Vec<Item>) -> Vec<Sides<Item>> {
    let pairs = removed.iter().filter_map(|was| {
        let now = nearest(was, added)?;
        (nearest(now, removed)? == was).then(|| Sides {
            was: was.clone(),
            now: now.clone(),
        })
    });
    let mut pairs: Vec<Sides<Item>> = pairs.collect();
    removed.retain(|item| pairs.iter().all(|pair| pair.was != *item));
    added.retain(|item| pairs.iter().all(|pair| pair.now != *item));
    pairs.sort_by_key(|Sides { was, now }| (was.place.min(now.place), was.place.max(now.place)));
    pairs
}

/// The line that says nearly the same; of equally similar ones that at the nearest place.
fn nearest<'i>(item: &Item, others: &'i [Item]) -> Option<&'i Item> {
    let alike = others.iter().filter_map(|other| {
        let likeness = strsim::normalized_levenshtein(&item.text, &other.text);
        (likeness >= REWORDED).then_some((likeness, other))
    });
    let apart = |other: &Item| item.place.abs_diff(other.place);
    let nearer = |(a, one): &(f64, &Item), (b, other): &(f64, &Item)| {
        a.total_cmp(b).then(apart(other).cmp(&apart(one)))
    };
    alike.max_by(nearer).map(|(_, other)| other)
}
