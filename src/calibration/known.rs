//! A cube's own colours, learned from its photos, as a file and as what to expect of other photos of it.

use super::{Calibration, Error, Scheme, SchemeShares, Shade, ShadeSet, understood};
use crate::colour::{Lab, Linear, Name, difference, lab_from_linear};
use crate::cube::{Face, LEAST_ORDER, MOST_ORDER};
use serde::{Deserialize, Serialize};
use std::collections::BTreeMap;

/// What a file of a known cube calls itself.
const SCHEMA: &str = "sixfold.cube/1";

/// The colours and scheme of one cube.
#[derive(Clone, Debug, PartialEq)]
pub struct KnownCube {
    /// The order of the cube.
    pub n: usize,
    /// Its shades in the order of [`Face::ALL`], as they look in neutral light.
    pub shades: [Shade; 6],
    /// The two colours nearest to one another in the light of the photos it was learned from.
    pub nearest: Nearest,
}

/// Two colours and how far apart they looked.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct Nearest {
    /// The one.
    pub one: Name,
    /// The other.
    pub other: Name,
    /// CIEDE2000; about 1 is the least a person sees.
    pub difference: f32,
}

/// How another cube differs from a known one.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Unlike {
    /// It has another size.
    Size {
        /// The order of the known cube.
        known: usize,
        /// That of the other.
        met: usize,
    },
    /// It has other colours, or has them on other faces.
    Scheme,
    /// A colour has the same name and looks different.
    Shade {
        /// The colour that differs most.
        colour: Name,
        /// How much, CIEDE2000.
        difference: f32,
    },
}

/// The difference, CIEDE2000, up to which every learned colour may be that of the same cube. Two cubes of one scheme were
/// rendered in three lights each: the colours of one came out at most 7.0 apart, between the two the one that differed
/// most was at least 9.3 apart.
const MOST_DIFFERENCE: f32 = 9.0;

/// The file.
#[derive(Serialize, Deserialize)]
struct File {
    schema: String,
    n: usize,
    faces: BTreeMap<Face, Shade>,
    nearest: Nearest,
}

impl KnownCube {
    /// Reads what [`KnownCube::to_json`] wrote.
    ///
    /// # Errors
    ///
    /// If the text is something else, or its numbers cannot be those of a cube.
    pub fn from_json(text: &str) -> Result<Self, Error> {
        #[derive(Deserialize)]
        struct Head {
            schema: Option<String>,
        }
        const NAME: &str = "of the cube";
        let text = text.trim_start_matches('\u{feff}');
        let head: Head = understood(NAME, text)?;
        let wrong = |place: &str, met: String, expected: &str| Error::Unfit {
            place: place.to_owned(),
            met,
            expected: expected.to_owned(),
        };
        if head.schema.as_deref() != Some(SCHEMA) {
            let met = head
                .schema
                .map_or_else(|| "nothing".to_owned(), |met| quoted(&met));
            return Err(wrong("schema", met, &quoted(SCHEMA)));
        }
        let file: File = understood(NAME, text)?;
        if !(LEAST_ORDER..=MOST_ORDER).contains(&file.n) {
            let expected = format!("a whole number from {LEAST_ORDER} to {MOST_ORDER}");
            return Err(wrong("n", file.n.to_string(), &expected));
        }
        let mut colours = Vec::new();
        for (face, shade) in &file.faces {
            for (key, values, most) in
                [("linear", shade.linear, 4.0), ("spread", shade.spread, 2.0)]
            {
                if let Some(value) = values.iter().find(|&&value| !(0.0..=most).contains(&value)) {
                    let place = format!("faces.{face}.{key}");
                    let expected = format!("a number from 0 to {most}");
                    return Err(wrong(&place, value.to_string(), &expected));
                }
            }
            if colours.contains(&shade.colour) {
                let place = format!("faces.{face}.colour");
                let met = format!("{} once more", shade.colour);
                return Err(wrong(&place, met, "another colour on each face"));
            }
            colours.push(shade.colour);
        }
        let shade = |face: Face| {
            let missing = || Error::NoShade {
                name: NAME.to_owned(),
                face,
            };
            file.faces.get(&face).cloned().ok_or_else(missing)
        };
        let [up, right, front, down, left, back] = Face::ALL.map(shade);
        Ok(Self {
            n: file.n,
            shades: [up?, right?, front?, down?, left?, back?],
            nearest: file.nearest,
        })
    }

    /// The cube as the text of a file.
    pub fn to_json(&self) -> String {
        let file = File {
            schema: SCHEMA.to_owned(),
            n: self.n,
            faces: Face::ALL.into_iter().zip(self.shades.clone()).collect(),
            nearest: self.nearest,
        };
        // Numbers and words alone: there is nothing that could not be written.
        let mut text = serde_json::to_string_pretty(&file).unwrap_or_default();
        text.push('\n');
        text
    }

    /// The scheme.
    pub fn scheme(&self) -> Scheme {
        Scheme::of(&self.shades)
    }

    /// How another cube, seen likewise, differs from this one; `None` if they may well be the same.
    pub fn unlike(&self, other: &Self) -> Option<Unlike> {
        if self.n != other.n {
            return Some(Unlike::Size {
                known: self.n,
                met: other.n,
            });
        }
        let (own, seen) = (self.scheme(), other.scheme());
        if !own.is_turned(seen) {
            return Some(Unlike::Scheme);
        }
        let (difference, colour) = self.largest_difference(other)?;
        (difference > MOST_DIFFERENCE).then_some(Unlike::Shade { colour, difference })
    }

    /// The colour of the same name that differs most, and by how much, CIEDE2000.
    fn largest_difference(&self, other: &Self) -> Option<(f32, Name)> {
        let same = |shade: &Shade| {
            let mut all = other.shades.iter();
            all.find(|other| other.colour == shade.colour)
        };
        let pairs = self
            .shades
            .iter()
            .filter_map(|shade| Some((shade, same(shade)?)));
        pairs
            .map(|(one, other)| (difference(lab(one.linear), lab(other.linear)), one.colour))
            .max_by(|one, other| one.0.total_cmp(&other.0))
    }
}

impl Calibration {
    /// This calibration for someone who has that cube.
    #[must_use]
    pub fn knowing(self, cube: KnownCube) -> Self {
        Self {
            known: Some(cube),
            ..self
        }
    }

    /// This calibration with the known cube's own shades and scheme as by far the most probable; `None` if no cube is known.
    pub fn expecting_known(&self) -> Option<Self> {
        /// How often someone who names a known cube shows just that one; an estimate.
        const SHARE: f64 = 0.9;
        /// How often its colours lie as they were learned, its mirror image, and any other way; an estimate. Only where the
        /// photos do not show it, as those of plain faces, does this decide.
        const SCHEMES: SchemeShares = SchemeShares {
            usual: 0.998,
            mirrored: 0.001,
            any_other: 0.001,
        };
        let cube = self.known.as_ref()?;
        let mut expecting = self.clone();
        for set in &mut expecting.shade_sets {
            set.share *= 1.0 - SHARE;
        }
        let own = ShadeSet {
            name: "known cube".to_owned(),
            share: SHARE,
            shades: cube.shades.clone(),
        };
        expecting.shade_sets.insert(0, own);
        expecting.schemes = SCHEMES;
        Some(expecting)
    }
}

/// CIELAB of a shade.
pub fn lab(linear: [f64; 3]) -> Lab {
    let [red, green, blue] = linear.map(|light| light as f32);
    lab_from_linear(Linear::new(red, green, blue))
}

fn quoted(text: &str) -> String {
    format!("\"{text}\"")
}

#[cfg(test)]
mod tests {
    use super::*;
    use serde_json::{Value, json};

    fn cube() -> KnownCube {
        let calibration = Calibration::built_in().unwrap();
        KnownCube {
            n: 6,
            shades: calibration.shade_sets[0].shades.clone(),
            nearest: Nearest {
                one: Name::Red,
                other: Name::Orange,
                difference: 21.5,
            },
        }
    }

    #[test]
    fn a_file_is_read_as_it_was_written() {
        let cube = cube();
        assert_eq!(KnownCube::from_json(&cube.to_json()).unwrap(), cube);
        assert_eq!(cube.unlike(&cube), None);
    }

    fn check(change: impl FnOnce(&mut Value), expected: &str) {
        let mut file: Value = serde_json::from_str(&cube().to_json()).unwrap();
        change(&mut file);
        let problem = KnownCube::from_json(&file.to_string()).unwrap_err();
        assert!(problem.to_string().contains(expected), "{problem}");
    }

    #[test]
    fn each_fault_of_a_file_is_named() {
        check(
            |file| file["schema"] = json!("sixfold.reading/1"),
            "at schema: \"sixfold.reading/1\" was met, \"sixfold.cube/1\" was expected",
        );
        check(|file| file["n"] = json!(1), "at n: 1 was met");
        check(
            |file| file["faces"]["U"]["linear"][1] = json!(-0.5),
            "at faces.U.linear: -0.5 was met, a number from 0 to 4",
        );
        check(
            |file| file["faces"]["R"]["colour"] = file["faces"]["U"]["colour"].clone(),
            "at faces.R.colour: white once more was met",
        );
        check(
            |file| drop(file["faces"].as_object_mut().unwrap().remove("B")),
            "no shade for face B",
        );
        check(
            |file| file["nearest"] = json!(null),
            "could not be understood",
        );
    }

    #[test]
    fn other_cubes_are_told_apart() {
        let known = cube();
        let mut other = cube();
        other.n = 5;
        assert_eq!(
            known.unlike(&other),
            Some(Unlike::Size { known: 6, met: 5 })
        );
        // Two faces exchanged make the mirror image, which no turning undoes; turned about they do not.
        let mut other = cube();
        other.shades.swap(Face::R.index(), Face::L.index());
        assert_eq!(known.unlike(&other), Some(Unlike::Scheme));
        other.shades.swap(Face::F.index(), Face::B.index());
        assert_eq!(known.unlike(&other), None);
        // Half the light in one channel of every shade looks quite different.
        let mut other = cube();
        for shade in &mut other.shades {
            shade.linear[0] *= 0.3;
        }
        assert!(matches!(
            known.unlike(&other),
            Some(Unlike::Shade { difference, .. }) if difference > MOST_DIFFERENCE
        ));
    }

    #[test]
    fn a_known_cube_is_expected_first() {
        let calibration = Calibration::built_in().unwrap();
        assert_eq!(calibration.expecting_known(), None);
        let expecting = calibration.knowing(cube()).expecting_known().unwrap();
        assert_eq!(expecting.shade_sets[0].shades, cube().shades);
        let shares: f64 = expecting.shade_sets.iter().map(|set| set.share).sum();
        assert!((shares - 1.0).abs() < 1e-9);
    }
}
