//! What differs between two lists: which items came, went, were reworded or stand elsewhere.

use super::change::{Item, ListDiffers};
use super::fact::List;

/// From this likeness on, a line counts as reworded and not as another.
const REWORDED: f64 = 0.5;

/// What differs; the same whichever list is the older, but for which side is which.
pub(super) fn differs(old: &List, new: &List) -> ListDiffers {
    let (mut removed, mut added) = (
        missing(&old.items, &new.items),
        missing(&new.items, &old.items),
    );
    let reworded = if old.lines && new.lines {
        reworded(&mut removed, &mut added)
    } else {
        Vec::new()
    };
    let stays = |items: &[String], others: &[Item], changed: &dyn Fn(usize) -> bool| {
        items
            .iter()
            .enumerate()
            .filter(|(at, _)| !changed(at + 1) && !others.iter().any(|item| item.place == at + 1))
            .map(|(_, item)| item.clone())
            .collect::<Vec<String>>()
    };
    let was = stays(&old.items, &removed, &|place| {
        reworded.iter().any(|(was, _)| was.place == place)
    });
    let now = stays(&new.items, &added, &|place| {
        reworded.iter().any(|(_, now)| now.place == place)
    });
    ListDiffers {
        reordered: (was != now).then_some([was, now]),
        added,
        removed,
        reworded,
    }
}

/// The items of a list that the other has not, or has fewer of: of equal ones, the last.
fn missing(items: &[String], others: &[String]) -> Vec<Item> {
    items
        .iter()
        .enumerate()
        .filter(|(at, item)| {
            let before = items[..*at].iter().filter(|other| other == item).count();
            before >= others.iter().filter(|other| other == item).count()
        })
        .map(|(at, item)| Item {
            place: at + 1,
            text: item.clone(),
        })
        .collect()
}

/// Takes out the pairs that say nearly the same, the most alike first; of equally alike ones those
/// that stand nearest to each other, then those that stand first.
fn reworded(removed: &mut Vec<Item>, added: &mut Vec<Item>) -> Vec<(Item, Item)> {
    let mut pairs: Vec<(f64, usize, usize, Item, Item)> = Vec::new();
    for was in removed.iter() {
        for now in added.iter() {
            let alike = strsim::normalized_levenshtein(&was.text, &now.text);
            if alike >= REWORDED {
                pairs.push((
                    alike,
                    was.place.abs_diff(now.place),
                    was.place.min(now.place),
                    was.clone(),
                    now.clone(),
                ));
            }
        }
    }
    pairs.sort_by(|a, b| b.0.total_cmp(&a.0).then(a.1.cmp(&b.1)).then(a.2.cmp(&b.2)));
    let mut reworded = Vec::new();
    for (_, _, _, was, now) in pairs {
        if removed.contains(&was) && added.contains(&now) {
            removed.retain(|item| *item != was);
            added.retain(|item| *item != now);
            reworded.push((was, now));
        }
    }
    reworded.sort_by_key(|(was, now)| (was.place.min(now.place), was.place.max(now.place)));
    reworded
}
