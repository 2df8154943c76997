//! Sheets are XML, their texts do not lie on one another, and they stay as
//! they are.
#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    reason = "tests"
)]

mod support;

use draw::{
    Axis, Bar, Bars, Block, Guide, Level, Mark, Panel, Picture, Plot, Row, Series, Sheet, Timeline,
};
use proptest::prelude::*;
use support::{looked_at, snapshot};

/// A low-pass of first order with its corner, mains and what is permitted.
fn low_pass(corner: f64, name: &str) -> (Series, Series) {
    let hz: Vec<f64> = (0..=60)
        .map(|i| elementary::pow(10.0, f64::from(i) / 10.0))
        .collect();
    let gain = |f: &f64| -10.0 * elementary::log10(1.0 + (f / corner) * (f / corner));
    let phase = |f: &f64| -elementary::atan(f / corner).to_degrees();
    let of = |y: &dyn Fn(&f64) -> f64| Series {
        name: name.to_owned(),
        points: hz.iter().map(|f| (*f, y(f))).collect(),
    };
    (of(&gain), of(&phase))
}

fn frequency() -> Plot {
    let (a, b) = (low_pass(159.2, "tank-1"), low_pass(15_920.0, "feed"));
    let panel = |label: &str, unit: &str, series: Vec<Series>| Panel {
        y: Axis::linear(label, unit),
        series,
        marks: Vec::new(),
        levels: Vec::new(),
    };
    let mut gain = panel("gain", "dB", vec![a.0, b.0]);
    gain.marks.push(Mark {
        x: 159.2,
        y: -3.01,
        label: "−3 dB at 159 Hz".to_owned(),
    });
    gain.levels.push(Level {
        y: -3.01,
        label: "−3 dB".to_owned(),
    });
    Plot {
        heading: "Frequency response".to_owned(),
        x: Axis::log("frequency", "Hz"),
        panels: vec![gain, panel("phase", "°", vec![a.1, b.1])],
        guides: [50.0, 100.0, 150.0, 200.0, 250.0]
            .into_iter()
            .map(|x| Guide {
                x,
                label: format!("mains {x} Hz"),
            })
            .collect(),
    }
}

fn turns() -> Timeline {
    let row = |n: usize, name: &str| Row {
        name: name.to_owned(),
        blocks: [(0.0, 4.6e-6, 0), (4.6e-6, 5.6e-6, 1), (5.6e-6, 6e-6, 2)]
            .into_iter()
            .map(|(from, to, kind)| Block {
                from_s: from + 6e-6 * n as f64,
                to_s: to + 6e-6 * n as f64,
                kind,
            })
            .collect(),
        note: "acquires 4.6 µs, converts 1 µs".to_owned(),
    };
    Timeline {
        heading: "One sequence of mcu.adc".to_owned(),
        label: "time in the sequence".to_owned(),
        end_s: 18e-6,
        kinds: ["acquire", "convert", "wait"].map(str::to_owned).to_vec(),
        rows: vec![
            row(0, "tank-1"),
            row(1, "the channel of the feed line with a long name"),
            row(2, "headspace"),
        ],
    }
}

fn contributors() -> Bars {
    let bar = |name: &str, value: f64, kind: usize| Bar {
        name: name.to_owned(),
        value,
        text: format!("{:.1} µV", value * 1e6),
        note: "STM32F103x8/STM32F103xB data sheet, DocID13587, Rev 17, Table 49".to_owned(),
        kind,
    };
    Bars {
        heading: "Noise of one conversion".to_owned(),
        kinds: ["thermal", "converter", "amplifier"]
            .map(str::to_owned)
            .to_vec(),
        bars: vec![
            bar("converter, transition noise", 180e-6, 1),
            bar("pull-up", 12e-6, 0),
            bar("buffer, voltage noise below its corner", 3e-6, 2),
            bar("a contributor without a number", f64::NAN, 2),
        ],
    }
}

fn sheet() -> Sheet {
    Sheet {
        title: "Press house, cellar rack".to_owned(),
        lead: "How tank-1 and feed follow.".to_owned(),
        description: "How tank-1 and feed follow their sensors over frequency.".to_owned(),
        pictures: vec![
            Picture::Plot(frequency()),
            Picture::Timeline(turns()),
            Picture::Bars(contributors()),
            Picture::Words("room-co2 is read over a digital link.".to_owned()),
        ],
    }
}

#[test]
fn snapshot_sheet_with_every_picture() {
    let svg = sheet().svg();
    looked_at(&svg);
    snapshot("every-picture.svg", &svg);
}

#[test]
fn a_mark_a_level_and_the_mains_are_named_once_in_each_panel() {
    let svg = sheet().svg();
    let texts: Vec<String> = looked_at(&svg);
    let count = |t: &str| texts.iter().filter(|x| *x == t).count();
    assert_eq!(count("−3 dB at 159 Hz"), 1);
    assert_eq!(count("−3 dB"), 1);
    assert_eq!(count("mains 50 Hz"), 2);
}

#[test]
fn curves_differ_by_dash_and_colour_and_keep_both_in_every_panel() {
    let svg = sheet().svg();
    let document = roxmltree::Document::parse(&svg).unwrap();
    let look = |name: &str| -> Vec<(String, String)> {
        document
            .descendants()
            .filter(|n| n.has_tag_name("path"))
            .filter(|n| n.first_element_child().and_then(|t| t.text()) == Some(name))
            .map(|n| {
                let a = |k: &str| n.attribute(k).unwrap_or("").to_owned();
                (a("class"), a("stroke-dasharray"))
            })
            .collect()
    };
    let (a, b) = (look("tank-1"), look("feed"));
    assert_eq!((a.len(), b.len()), (2, 2));
    assert!(a[0] == a[1] && b[0] == b[1]);
    assert!(a[0].0 != b[0].0 && a[0].1 != b[0].1);
}

#[test]
fn labels_without_room_are_told_below() {
    let mut plot = frequency();
    plot.guides = (0..40)
        .map(|i| Guide {
            x: 1000.0 + f64::from(i),
            label: format!("a tone of the converter beside the rail, number {i}"),
        })
        .collect();
    let sheet = Sheet {
        pictures: vec![Picture::Plot(plot)],
        ..sheet()
    };
    let texts = looked_at(&sheet.svg()).join(" ");
    for i in 0..40 {
        assert!(texts.contains(&format!("number {i}")), "{i}: {texts}");
    }
}

#[test]
fn themes_are_embedded() {
    let svg = sheet().svg();
    assert!(svg.contains("@media (prefers-color-scheme:dark)"));
    assert!(svg.contains("@media print"));
    assert!(!svg.contains("http://www.w3.org/1999/xlink") && !svg.contains("<script"));
}

#[test]
fn an_empty_sheet_is_one_too() {
    looked_at(
        &Sheet {
            title: String::new(),
            lead: String::new(),
            description: String::new(),
            pictures: vec![
                Picture::Plot(Plot {
                    heading: String::new(),
                    x: Axis::log("", "Hz"),
                    panels: Vec::new(),
                    guides: Vec::new(),
                }),
                Picture::Timeline(Timeline {
                    heading: String::new(),
                    label: String::new(),
                    end_s: 0.0,
                    kinds: Vec::new(),
                    rows: Vec::new(),
                }),
                Picture::Bars(Bars {
                    heading: String::new(),
                    kinds: Vec::new(),
                    bars: Vec::new(),
                }),
            ],
        }
        .svg(),
    );
}

fn any_number() -> impl Strategy<Value = f64> {
    prop_oneof![
        -1e3..1e3_f64,
        any::<f64>(),
        Just(0.0),
        Just(f64::NAN),
        Just(f64::INFINITY)
    ]
}

fn any_text() -> impl Strategy<Value = String> {
    prop_oneof!["[ -~]{0,60}", any::<String>(), "[a-z]{0,12}"]
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(64))]

    /// Whatever the texts and numbers, the sheet parses, its texts lie apart
    /// and inside it, and no coordinate is not a number.
    #[test]
    fn property_any_sheet_is_well_formed(
        texts in proptest::collection::vec(any_text(), 8),
        numbers in proptest::collection::vec((any_number(), any_number()), 0..40),
        log in any::<bool>(),
        end in any_number(),
    ) {
        let axis = |n: usize, unit: &str| {
            if log { Axis::log(&texts[n], unit) } else { Axis::linear(&texts[n], unit) }
        };
        let plot = Plot {
            heading: texts[0].clone(),
            x: axis(1, "Hz"),
            panels: vec![Panel {
                y: axis(2, "V/√Hz"),
                series: vec![
                    Series { name: texts[3].clone(), points: numbers.clone() },
                    Series { name: texts[4].clone(), points: numbers.iter().map(|p| (p.1, p.0)).collect() },
                ],
                marks: numbers.iter().take(3).map(|p| Mark { x: p.0, y: p.1, label: texts[5].clone() }).collect(),
                levels: numbers.iter().take(2).map(|p| Level { y: p.1, label: texts[6].clone() }).collect(),
            }],
            guides: numbers.iter().take(5).map(|p| Guide { x: p.0, label: texts[7].clone() }).collect(),
        };
        let timeline = Timeline {
            heading: texts[1].clone(),
            label: texts[2].clone(),
            end_s: end,
            kinds: texts[..3].to_vec(),
            rows: texts.iter().map(|t| Row {
                name: t.clone(),
                blocks: numbers.iter().take(3).map(|p| Block { from_s: p.0, to_s: p.1, kind: 1 }).collect(),
                note: t.clone(),
            }).collect(),
        };
        let bars = Bars {
            heading: texts[3].clone(),
            kinds: texts[..2].to_vec(),
            bars: texts.iter().zip(&numbers).map(|(t, p)| Bar {
                name: t.clone(), value: p.0, text: t.clone(), note: t.clone(), kind: 1,
            }).collect(),
        };
        let svg = Sheet {
            title: texts[0].clone(),
            lead: texts[1].clone(),
            description: texts[2].clone(),
            pictures: vec![Picture::Plot(plot), Picture::Timeline(timeline), Picture::Bars(bars)],
        }.svg();
        support::well_formed(&svg);
    }
}
