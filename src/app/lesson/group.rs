//! Photos that were looked at to cubes, read, and cubes to the people they belong to.

use super::crop::FacePicture;
use super::look::{Looked, LookedAt};
use super::roster::Roster;
use super::told;
use crate::app::files::Moment;
use crate::assemble::{Assembly, assemble, glance};
use crate::calibration::Calibration;
use crate::cube::Face;
use crate::reader::sorting::{Judge, LeftOver, sort_out};
use crate::reader::{Outcome, Reading, Shown, read, read_assembled};
use crate::sight::{SeenPhoto, Trace};
use rayon::prelude::*;
use std::collections::BTreeMap;
use std::path::Path;

/// A whole lesson.
#[derive(Clone, Debug)]
pub struct Lesson {
    /// The name of its folder.
    pub title: String,
    /// How many photos there were.
    pub photos: usize,
    /// How many of them were looked at in this run, not remembered.
    pub fresh: usize,
    /// The people, each with the states of their cube.
    pub people: Vec<Person>,
    /// How many of them are only numbered, since neither a folder nor the roster tells whose the cube is.
    pub numbered: usize,
    /// Photos of one face each, without a cube around it.
    pub same_face: Vec<Vec<String>>,
    /// Photos that belong to no cube, with the reason.
    pub left_out: Vec<LeftOut>,
    /// Files that could not be used, each with a sentence.
    pub unusable: Vec<String>,
    /// Files that were not looked at, since the run was interrupted.
    pub skipped: Vec<String>,
    /// What the roster names and the photos do not show, each as a sentence.
    pub unmet: Vec<String>,
}

/// A photo that belongs to no cube.
#[derive(Clone, Debug)]
pub struct LeftOut {
    /// Its name.
    pub path: String,
    /// One word for other programs.
    pub reason: &'static str,
    /// A sentence, as true of several photos as of one.
    pub text: String,
}

/// Someone and their cube, as it was at one moment or several.
#[derive(Clone, Debug)]
pub struct Person {
    /// The name.
    pub who: String,
    /// The cube, the earliest moment first.
    pub occasions: Vec<Occasion>,
}

/// A cube at one moment.
#[derive(Clone, Debug)]
pub struct Occasion {
    /// What came of its photos.
    pub reading: Reading,
    /// When the first of them was taken.
    pub taken: Option<Moment>,
    /// What was seen, face by face.
    pub shown: Vec<Showing>,
}

/// A face as it was seen.
#[derive(Clone, Debug)]
pub struct Showing {
    /// The photo.
    pub path: String,
    /// The face, if it is known.
    pub face: Option<Face>,
    /// How many quarter turns clockwise bring the picture upright.
    pub turns: u8,
    /// Stickers along a side.
    pub n: usize,
    /// The picture.
    pub picture: Option<FacePicture>,
}

impl Lesson {
    /// Whether every cube was read for certain and every photo has its place.
    pub fn is_complete(&self) -> bool {
        let is_read = |occasion: &Occasion| occasion.reading.outcome == Outcome::Read;
        self.people
            .iter()
            .flat_map(|person| &person.occasions)
            .all(is_read)
            && self.left_out.is_empty()
            && self.unusable.is_empty()
            && self.skipped.is_empty()
    }
}

impl Person {
    /// The cube as it was last.
    pub fn latest(&self) -> Option<&Occasion> {
        self.occasions.last()
    }
}

/// A photo of a group.
struct Member<'a> {
    path: String,
    looked: &'a Looked,
    seen: &'a SeenPhoto,
    pictures: &'a [Vec<Option<FacePicture>>],
    taken: Option<Moment>,
}

/// Photos of one cube at one moment.
struct Group {
    members: Vec<usize>,
    views: Vec<usize>,
    assembly: Option<Assembly>,
}

/// Whether what is not done is to be left; once it is, it stays so.
type IsOver<'a> = &'a (dyn Fn() -> bool + Sync);

/// Sorts and reads the photos of a lesson.
pub fn group(
    calibration: &Calibration,
    folder: &Path,
    looked: &LookedAt,
    roster: Option<&Roster>,
    is_over: IsOver,
) -> Lesson {
    let mut lesson = Lesson {
        title: title_of(folder),
        photos: looked.photos.len() + looked.skipped.len(),
        fresh: looked.fresh,
        people: Vec::new(),
        numbered: 0,
        same_face: Vec::new(),
        left_out: Vec::new(),
        unusable: Vec::new(),
        skipped: looked
            .skipped
            .iter()
            .map(|entry| told(folder, &entry.path))
            .collect(),
        unmet: Vec::new(),
    };
    let places = members_by_place(folder, looked, &mut lesson);
    let mut found: Vec<(String, Occasion)> = Vec::new();
    for (place, mut members) in places {
        in_order(&mut members);
        let groups = groups_of(calibration, place, &members, &mut lesson, is_over);
        let read: Vec<Option<Occasion>> = groups
            .par_iter()
            .map(|group| (!is_over()).then(|| read_group(calibration, &members, group)))
            .collect();
        for (group, occasion) in groups.iter().zip(read) {
            let Some(occasion) = occasion else {
                let paths = group
                    .members
                    .iter()
                    .map(|&member| members[member].path.as_str());
                lesson.left_out.extend(paths.map(interrupted));
                continue;
            };
            let times = group
                .members
                .iter()
                .filter_map(|&member| members[member].taken);
            let (first, last) = (times.clone().min(), times.max());
            let named = roster.and_then(|roster| roster.name(place, first, last));
            let who = named.or(place).map_or_else(
                || {
                    lesson.numbered += 1;
                    format!("Cube {}", lesson.numbered)
                },
                str::to_owned,
            );
            found.push((who, occasion));
        }
    }
    for (who, occasion) in found {
        match lesson.people.iter_mut().find(|person| person.who == who) {
            Some(person) => person.occasions.push(occasion),
            None => lesson.people.push(Person {
                who,
                occasions: vec![occasion],
            }),
        }
    }
    for person in &mut lesson.people {
        // Stable: without times the order of the photos stays.
        person.occasions.sort_by_key(|occasion| occasion.taken);
    }
    lesson
}

/// What can be used of the photos, by the folder they lie in and in the order of the folders; the rest goes to the lesson's lists.
fn members_by_place<'a>(
    folder: &Path,
    looked: &'a LookedAt,
    lesson: &mut Lesson,
) -> Vec<(Option<&'a str>, Vec<Member<'a>>)> {
    let mut places: Vec<(Option<&str>, Vec<Member>)> = Vec::new();
    let mut first_of: BTreeMap<(Option<&str>, &str), &Path> = BTreeMap::new();
    for photo in &looked.photos {
        let same = (photo.entry.place.as_deref(), photo.key.as_str());
        if let (Ok(_), Some(first)) = (&photo.kept, first_of.get(&same)) {
            lesson.left_out.push(copy(folder, &photo.entry.path, first));
            continue;
        }
        first_of.insert(same, &photo.entry.path);
        match &photo.kept {
            Ok(kept) => {
                let place = photo.entry.place.as_deref();
                // The photos come sorted by places, these as a person sorts them.
                if places.last().is_none_or(|(last, _)| *last != place) {
                    places.push((place, Vec::new()));
                }
                let member = Member {
                    path: told(folder, &photo.entry.path),
                    looked: photo,
                    seen: &kept.seen,
                    pictures: &kept.pictures,
                    taken: kept.taken,
                };
                if let Some((_, members)) = places.last_mut() {
                    members.push(member);
                }
            }
            Err(problem) => lesson.unusable.push(problem.to_string()),
        }
    }
    places
}

fn title_of(folder: &Path) -> String {
    let whole = std::fs::canonicalize(folder).unwrap_or_else(|_| folder.to_owned());
    whole.file_name().map_or_else(
        || "Lesson".to_owned(),
        |name| name.to_string_lossy().into_owned(),
    )
}

/// By time if every photo has one, otherwise as the names say.
fn in_order(members: &mut [Member]) {
    if members.iter().all(|member| member.taken.is_some()) {
        members.sort_by_key(|member| member.taken);
    }
}

fn groups_of(
    calibration: &Calibration,
    place: Option<&str>,
    members: &[Member],
    lesson: &mut Lesson,
    is_over: IsOver,
) -> Vec<Group> {
    let whole = || Group {
        members: (0..members.len()).collect(),
        views: Vec::new(),
        assembly: None,
    };
    // A folder of its own is one cube, unless it holds the photos of several moments.
    if place.is_some() && members.iter().map(faces_in).sum::<usize>() <= 8 {
        return vec![whole()];
    }
    if place.is_some() && !is_over() && are_faces_and_corners(members) {
        let group = whole();
        if read_group(calibration, members, &group).reading.outcome == Outcome::Read {
            return vec![group];
        }
    }
    let seen: Vec<&SeenPhoto> = members.iter().map(|member| member.seen).collect();
    let goes_on = || !is_over();
    let judge = Judge {
        glance: &|sets| {
            let glanced = |set| Some(glance(calibration, set).ok()?.over_faces);
            let sets = sets.par_iter();
            sets.map(|set| goes_on().then(|| glanced(set)).flatten())
                .collect()
        },
        judge: &|sets| {
            let judged = |set| assemble(calibration, set).ok();
            if let [set] = sets {
                // Both cores are for this one then.
                return vec![goes_on().then(|| judged(set)).flatten()];
            }
            let sets = sets.par_iter();
            sets.map(|set| goes_on().then(|| judged(set)).flatten())
                .collect()
        },
    };
    let sorted = sort_out(calibration, &seen, judge);
    if is_over() {
        // What was sorted lacks the look at what else would fit: none of it is to be relied on.
        let paths = members.iter().map(|member| member.path.as_str());
        lesson.left_out.extend(paths.map(interrupted));
        return Vec::new();
    }
    let name = |photo: usize| members[photo].path.clone();
    if place.is_some() && sorted.cubes.is_empty() {
        // Two photos of a face are enough to see that it is the same: piecing ten together takes seconds.
        let mut group = whole();
        for series in sorted.same_face {
            for &photo in series.iter().skip(2) {
                group.members.retain(|&member| member != photo);
                let (reason, text) = words(LeftOver::Repeats { photo: series[0] }, name);
                lesson.left_out.push(LeftOut {
                    path: name(photo),
                    reason,
                    text,
                });
            }
        }
        return vec![group];
    }
    for group in sorted.same_face {
        lesson.same_face.push(group.into_iter().map(name).collect());
    }
    for (photo, reason) in sorted.left_over {
        let (reason, text) = words(reason, name);
        lesson.left_out.push(LeftOut {
            path: name(photo),
            reason,
            text,
        });
    }
    let groups = sorted.cubes.into_iter().map(|company| Group {
        members: company.photos,
        views: company.views,
        assembly: Some(company.assembly),
    });
    groups.collect()
}

/// How many faces a photo shows at first sight.
fn faces_in(member: &Member) -> usize {
    let view = member.seen.views.first();
    view.map_or(0, |view| view.faces.len())
}

/// Whether photos may be those of six single faces and of one or two corners, taken because the faces alone do not show how
/// they lie. Read together they are certain only if they show one state.
fn are_faces_and_corners(members: &[Member]) -> bool {
    let count = |faces: usize| {
        members
            .iter()
            .filter(|member| faces_in(member) == faces)
            .count()
    };
    let (single, corners) = (count(1), count(3));
    (6..=8).contains(&single) && (1..=2).contains(&corners) && single + corners == members.len()
}

/// The reason of a photo that was looked at but not sorted any more.
pub const INTERRUPTED: &str = "interrupted";

fn interrupted(path: &str) -> LeftOut {
    LeftOut {
        path: path.to_owned(),
        reason: INTERRUPTED,
        text:
            "not sorted any more, as the run was interrupted; run it again, which goes on from here"
                .to_owned(),
    }
}

/// A file that was copied must not stand for a second cube.
fn copy(folder: &Path, path: &Path, first: &Path) -> LeftOut {
    LeftOut {
        path: told(folder, path),
        reason: "copy",
        text: format!("the same file as {}", told(folder, first)),
    }
}

fn words(reason: LeftOver, name: impl Fn(usize) -> String) -> (&'static str, String) {
    match reason {
        LeftOver::NoFace => (
            "no-face",
            "no face of a cube was found; show one whole face, large and sharp, or three that meet in a corner"
                .to_owned(),
        ),
        LeftOver::FitsNowhere => (
            "fits-nowhere",
            "no whole cube comes together with any other photos here; take the missing faces, or the same again".to_owned(),
        ),
        LeftOver::FitsSeveral => (
            "fits-several",
            "several cubes here would fit; put the photos of each cube into a folder of its own".to_owned(),
        ),
        LeftOver::Repeats { photo } => (
            "repeats",
            format!("the same face as in {}, as it seems", name(photo)),
        ),
    }
}

fn read_group(calibration: &Calibration, members: &[Member], group: &Group) -> Occasion {
    let photos: Vec<SeenPhoto> = group
        .members
        .iter()
        .enumerate()
        .map(|(at, &member)| {
            let mut photo = members[member].seen.clone();
            if let Some(&view) = group.views.get(at) {
                photo.views.swap(0, view);
            }
            photo
        })
        .collect();
    let shown: Vec<Shown> = group
        .members
        .iter()
        .zip(&photos)
        .map(|(&member, photo)| Shown {
            path: &members[member].path,
            photo,
        })
        .collect();
    let mut trace = Trace::default();
    let assembled = group.assembly.as_ref();
    let reading = assembled
        .map(|assembly| read_assembled(calibration, &mut trace, &shown, assembly))
        // A cube known beforehand may settle what is doubtful.
        .filter(|reading| reading.outcome == Outcome::Read || calibration.known.is_none())
        .unwrap_or_else(|| read(calibration, &mut trace, &shown));
    let times = group
        .members
        .iter()
        .filter_map(|&member| members[member].taken);
    Occasion {
        taken: times.min(),
        shown: showings(members, group, &reading),
        reading,
    }
}

/// The faces of a reading with their pictures: those it has placed, in the order of the photos.
fn showings(members: &[Member], group: &Group, reading: &Reading) -> Vec<Showing> {
    let mut shown = Vec::new();
    for (&member, photo) in group.members.iter().zip(&reading.photos) {
        let member = &members[member];
        for found in &photo.faces {
            // The reading tells the corners from the face's own top left one on: the picture is the one with the same
            // corners, turned.
            let all = member
                .seen
                .views
                .iter()
                .zip(member.pictures)
                .flat_map(|(view, pictures)| view.faces.iter().zip(pictures));
            let matching = all.filter_map(|(face, picture)| {
                let turns = (0..4).find(|&turns| {
                    (0..4)
                        .all(|k| found.corners.corner(k) == face.corners_in_photo.corner(k + turns))
                })?;
                Some((face.n, picture.clone(), turns as u8))
            });
            if let Some((n, picture, turns)) = matching.into_iter().next() {
                shown.push(Showing {
                    path: member.looked.entry.path.file_name().map_or_else(
                        || member.path.clone(),
                        |name| name.to_string_lossy().into_owned(),
                    ),
                    face: found.face,
                    // The corner that is to come to the top left lies `turns` corners further on clockwise.
                    turns: (4 - turns) % 4,
                    n,
                    picture,
                });
            }
        }
    }
    shown
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::app::lesson::cache::Kept;
    use crate::app::lesson::folder::Entry;
    use crate::app::lesson::look::look_at_all;
    use crate::app::report::write_lesson;
    use crate::calibration::Scheme;
    use crate::cube::{Sequence, State};
    use crate::reader::Colouring;
    use crate::reader::session::testing::{Light, corner_of, painted};
    use crate::sight::View;
    use serde_json::Value;
    use std::fs;
    use std::sync::atomic::{AtomicBool, AtomicUsize, Ordering};

    /// A made-up photo in a folder of its own.
    fn photo(name: &str, view: View) -> Looked {
        let pictures = vec![vec![None; view.faces.len()]];
        let kept = Kept {
            seen: SeenPhoto { views: vec![view] },
            taken: None,
            pictures,
        };
        Looked {
            entry: Entry {
                path: Path::new("lesson/Ada").join(name),
                place: Some("Ada".to_owned()),
            },
            key: name.to_owned(),
            kept: Ok(kept),
        }
    }

    /// One turn from solved, single faces do not show how they lie. A photo of a corner beside them does; one of the cube after
    /// another turn is not taken for it.
    #[test]
    fn a_corner_beside_single_faces_tells_how_they_lie() {
        let turned = |moves: &str| {
            let moves = Sequence::for_order(moves, 3).unwrap();
            State::solved(3).after(&moves.0)
        };
        let state = turned("U");
        let single = |(face, quarters)| View {
            faces: vec![painted(&state, face, quarters, Light::DAY)],
            joins: Vec::new(),
        };
        let faces = Face::ALL.into_iter().zip([0, 3, 1, 2, 2, 1]).map(single);
        let faces: Vec<View> = faces.collect();
        let check = |corner: Option<View>, outcome: Outcome, photos: usize| {
            let views = faces.iter().cloned().chain(corner).enumerate();
            let looked = LookedAt {
                photos: views
                    .map(|(at, view)| photo(&format!("{at}.jpg"), view))
                    .collect(),
                fresh: 0,
                skipped: Vec::new(),
            };
            let calibration = Calibration::built_in().unwrap();
            let lesson = group(&calibration, Path::new("lesson"), &looked, None, &|| false);
            let [person] = &lesson.people[..] else {
                panic!("{:?}", lesson.people);
            };
            let reading = &person.latest().unwrap().reading;
            assert_eq!((reading.outcome, reading.photos.len()), (outcome, photos));
            let truth = Colouring::painted(&state, Scheme::COMMON);
            if outcome == Outcome::Read {
                assert_eq!(reading.faces.as_ref(), Some(&truth));
            }
        };
        check(None, Outcome::Doubtful, 6);
        check(Some(corner_of(&state)), Outcome::Read, 7);
        check(Some(corner_of(&turned("U R"))), Outcome::Doubtful, 6);
    }

    /// How often each photo is named in a report, wherever.
    fn named(document: &Value) -> BTreeMap<String, usize> {
        let list = |of: &Value| of.as_array().cloned().unwrap_or_default();
        let groups = list(&document["same_face"]);
        let readings = list(&document["cubes"])
            .into_iter()
            .flat_map(|cube| list(&cube["history"]))
            .flat_map(|reading| list(&reading["photos"]));
        let mut count = BTreeMap::new();
        for photo in readings
            .chain(list(&document["not_placed"]))
            .chain(groups.iter().flat_map(list))
        {
            let path = photo["path"].as_str().or(photo.as_str()).unwrap();
            *count.entry(path.to_owned()).or_default() += 1;
        }
        count
    }

    /// The patience ends at the first question whether it is over, at the second, and so on until nothing is cut off any
    /// more: every photo of two cubes thrown together is named once, and the page is whole.
    #[test]
    fn sorting_broken_off_anywhere_loses_no_photo() {
        let base = std::env::temp_dir().join(format!("sixfold-sorting-{}", std::process::id()));
        let fixtures = Path::new(env!("CARGO_MANIFEST_DIR")).join("fixtures/photos/faces-easy");
        let cubes = ["cube-21-n3", "cube-16-n4"];
        let photos = cubes
            .iter()
            .flat_map(|cube| (1..=6).map(move |photo| format!("{cube}/photo-{photo}.jpg")));
        let entries: Vec<Entry> = photos
            .map(|photo| Entry {
                path: fixtures.join(photo),
                place: None,
            })
            .collect();
        let looked = look_at_all(&entries, &base.join("seen"), &AtomicBool::new(false)).unwrap();
        let calibration = Calibration::built_in().unwrap();
        let mut patience = 0;
        let whole = loop {
            let asked = AtomicUsize::new(0);
            let is_over = || asked.fetch_add(1, Ordering::Relaxed) >= patience;
            let lesson = group(&calibration, &fixtures, &looked, None, &is_over);
            write_lesson(&base, &lesson, false).unwrap();
            let document = fs::read(base.join("lesson.json")).unwrap();
            let count = named(&serde_json::from_slice(&document).unwrap());
            assert_eq!(count.len(), entries.len(), "after {patience}: {count:?}");
            assert!(
                count.values().all(|&times| times == 1),
                "after {patience}: {count:?}"
            );
            let page = fs::read_to_string(base.join("index.html")).unwrap();
            assert!(page.ends_with("</html>\n"));
            let is_cut = lesson
                .left_out
                .iter()
                .any(|photo| photo.reason == INTERRUPTED);
            assert_eq!(is_cut, page.contains("The reading was interrupted"));
            if asked.into_inner() <= patience {
                break lesson;
            }
            patience += 1 + patience / 2;
        };
        assert!(patience > 0, "it was never asked");
        assert!(whole.left_out.is_empty() && whole.numbered == cubes.len());
        fs::remove_dir_all(base).unwrap();
    }
}
