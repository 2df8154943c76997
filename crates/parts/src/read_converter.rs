//! Reading of the converters of a part.

use document::{Content, Fields, Item, Located, Table};
use quantity::Dimension;

use crate::kinds::Scope;
use crate::number::Wanted;
use crate::part::{ConverterChannel, ConverterRange, ConverterUnit, ReferenceChoice, Rounding};
use crate::read_figure::Defaults;
use crate::read_part::figures_below;

/// Every `[[converter]]` of a file.
pub(crate) fn converters(file: &Fields<'_>, defaults: &Defaults) -> Vec<ConverterUnit> {
    tables(file, "converter")
        .into_iter()
        .filter_map(|table| unit(Fields::new(table, "converter", file.faults()), defaults))
        .collect()
}

fn unit(fields: Fields<'_>, defaults: &Defaults) -> Option<ConverterUnit> {
    let name = fields.required_text("name", "a name such as \"adc\"");
    let bits = fields
        .required("bits", "the bits of the code, for example bits = 12")
        .and_then(|_| fields.whole("bits", 1, 32));
    let truth = |key| fields.truth(key).is_some_and(|t| t.value);
    let result = ConverterUnit {
        name: name.map_or(String::new(), |n| n.value.to_owned()),
        bits: bits
            .and_then(|b| u8::try_from(b.value).ok())
            .unwrap_or_default(),
        rounding: fields
            .word("rounding", &Rounding::ALL)
            .map_or(Rounding::Floor, |w| w.value),
        differential: truth("differential"),
        bipolar: truth("bipolar"),
        delta_sigma: truth("delta-sigma"),
        gains: gains(&fields),
        channels: tables_or_texts(&fields, "channels")
            .into_iter()
            .filter_map(|entry| channel(&fields, entry))
            .collect(),
        references: tables(&fields, "references")
            .into_iter()
            .filter_map(|t| reference(Fields::new(t, "reference", fields.faults()), defaults))
            .collect(),
        ranges: tables(&fields, "ranges")
            .into_iter()
            .filter_map(|t| range(Fields::new(t, "range", fields.faults()), defaults))
            .collect(),
        figures: figures_below(&fields, &Scope::Converter, defaults),
        span: fields.span_of("name"),
    };
    fields.finish();
    (name.is_some() && bits.is_some()).then_some(result)
}

fn gains(fields: &Fields<'_>) -> Vec<f64> {
    let wanted = Wanted {
        dimensions: Some(&[Dimension::NONE]),
        absolute: false,
        supply: false,
    };
    let Some((list, _)) = fields.list("gains") else {
        return Vec::new();
    };
    list.iter()
        .filter_map(|item| wanted.number("gains", item, fields.faults()))
        .map(|number| number.value)
        .collect()
}

/// The tables of a list, reporting entries that are none.
pub(crate) fn tables<'a>(fields: &Fields<'a>, key: &'static str) -> Vec<&'a Table> {
    let Some((list, _)) = fields.list(key) else {
        return Vec::new();
    };
    list.iter()
        .filter_map(|item| match &item.content {
            Content::Table(table) => Some(table),
            other => {
                fields.faults().add(
                    item.span,
                    format!("an entry of `{key}` is {}", other.describe()),
                    "a table in braces",
                );
                None
            }
        })
        .collect()
}

fn tables_or_texts<'a>(fields: &Fields<'a>, key: &'static str) -> Vec<&'a Item> {
    fields
        .list(key)
        .map(|(list, _)| list.iter().collect())
        .unwrap_or_default()
}

fn channel(unit: &Fields<'_>, item: &Item) -> Option<ConverterChannel> {
    match &item.content {
        Content::Text(name, _) => Some(ConverterChannel {
            name: name.clone(),
            pin: String::new(),
            minus: String::new(),
            span: item.span,
        }),
        Content::Table(table) => {
            let fields = Fields::new(table, "channel", unit.faults());
            let name = fields.required_text("name", "the channel's name, for example \"3\"");
            let pin = owned(fields.text("pin"));
            let minus = owned(fields.text("minus"));
            fields.finish();
            Some(ConverterChannel {
                name: name?.value.to_owned(),
                pin,
                minus,
                span: item.span,
            })
        }
        other => {
            unit.faults().add(
                item.span,
                format!("an entry of `channels` is {}", other.describe()),
                "a name, or { name = \"0\", pin = \"PA0\" }",
            );
            None
        }
    }
}

fn owned(text: Option<Located<&str>>) -> String {
    text.map_or(String::new(), |t| t.value.to_owned())
}

pub(crate) fn reference(fields: Fields<'_>, defaults: &Defaults) -> Option<ReferenceChoice> {
    let name = fields.required_text("name", "a name such as \"internal\"");
    let from = fields.text("from").map(|t| t.value.to_owned());
    let share = fields.number("share").map_or(1.0, |n| n.value);
    let pin = owned(fields.text("pin"));
    let figures = figures_below(&fields, &Scope::Reference, defaults);
    let span = fields.span_of("name");
    fields.finish();
    Some(ReferenceChoice {
        name: name?.value.to_owned(),
        from,
        share,
        pin,
        figures,
        span,
    })
}

fn range(fields: Fields<'_>, defaults: &Defaults) -> Option<ConverterRange> {
    let name = fields.required_text("name", "a name such as \"wide\"");
    let figures = figures_below(&fields, &Scope::Range, defaults);
    let span = fields.span_of("name");
    fields.finish();
    Some(ConverterRange {
        name: name?.value.to_owned(),
        figures,
        span,
    })
}
