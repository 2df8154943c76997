//! Reading of one figure.

use document::{Content, Faults, Fields, Item, Table};
use finding::{InputFault, Span, nearest_of};
use quantity::{Dimension, Valued};

use crate::figure::{Column, DriftMethod, Figure, Role, ShapeName};
use crate::kinds::{Against, FigureSpec, Scope};
use crate::number::{Number, Wanted};
use crate::part::Figures;
use crate::provenance::{Basis, Source};

/// 25 °C in kelvin, where figures hold unless they say otherwise.
const ROOM_K: f64 = 298.15;
/// 0 °C in kelvin, where IEC 60751 splits the tolerance of platinum.
const ICE_K: f64 = 273.15;

/// What a figure takes over when it says nothing itself.
#[derive(Clone, Debug)]
pub struct Defaults {
    /// Basis.
    pub basis: Basis,
    /// Source.
    pub source: Source,
}

/// Reads every figure of a table, reporting unknown names with the nearest
/// known one.
pub(crate) fn figures_from_table(
    table: &Table,
    scope: &Scope<'_>,
    defaults: &Defaults,
    faults: &Faults,
) -> Figures {
    let mut figures: Figures = table
        .entries
        .iter()
        .filter_map(|(key, item)| {
            let figure = figure_from_item(&key.name, key.span, item, scope, defaults, faults)?;
            Some((key.name.clone(), figure))
        })
        .collect();
    settle_nominals(&mut figures, scope);
    figures
}

/// A nominal value whose deviation another figure carries is exact: the
/// reference's 2.5 V beside an initial accuracy of 0.1 %.
///
/// To be called again by whoever overrides figures of a part in place.
pub fn settle_nominals(figures: &mut Figures, scope: &Scope<'_>) {
    for spec in scope.known() {
        let carried = spec
            .carried_by
            .iter()
            .any(|name| figures.contains_key(*name));
        if let Some(figure) = figures.get_mut(spec.name)
            && carried
            && figure.role == Role::Level
            && figure.typ.is_some()
            && figure.min.is_none()
            && figure.max.is_none()
        {
            figure.role = Role::Limit;
        }
    }
}

/// Reads one figure, for part files and for figures written in place in a
/// board file.
///
/// `item` is a text ("10 kΩ 1 %", "2 V to 3.6 V"), a number where the figure
/// is plain, a table with the columns `min`, `typ`, `max` and what else is
/// known, or a list of such tables of which the first counts and the others
/// are kept as [`Figure::alternatives`]. `key_span` is where its name stands.
///
/// A text stands for: the centre with its limits if a tolerance follows (a
/// level), the limit on either side (a deviation), the value itself (a limit),
/// or both limits if it is a range.
///
/// `None` if it could not be read; what is wrong went to `faults`.
pub(crate) fn figure_from_item(
    name: &str,
    key_span: Span,
    item: &Item,
    scope: &Scope<'_>,
    defaults: &Defaults,
    faults: &Faults,
) -> Option<Figure> {
    let Some(spec) = scope.figure(name) else {
        let known = scope.known();
        let mut names: Vec<&str> = known.iter().map(|f| f.name).collect();
        names.sort_unstable();
        faults.push(
            InputFault::new(
                key_span,
                format!("{} has no figure `{name}`", scope.describe()),
                format!("one of {}", names.join(", ")),
            )
            .suggest(nearest_of(name, names.iter().copied())),
        );
        return None;
    };
    let reader = Reader {
        spec,
        dimensions: spec.dimensions(scope.quantity()),
        scope,
        defaults,
        faults,
    };
    match &item.content {
        Content::Table(table) => reader.table(table, item.span),
        Content::List(list) => reader.alternatives(list, item.span),
        _ => {
            let mut figure = reader.empty(item.span);
            reader.columns_from_value(item, &mut figure)?;
            Some(figure)
        }
    }
}

struct Reader<'a> {
    spec: &'static FigureSpec,
    dimensions: Option<Vec<Dimension>>,
    scope: &'a Scope<'a>,
    defaults: &'a Defaults,
    faults: &'a Faults,
}

impl Reader<'_> {
    fn wanted(&self) -> Wanted<'_> {
        Wanted {
            dimensions: self.dimensions.as_deref(),
            absolute: self.spec.is_absolute(),
            supply: self.spec.role != Role::Deviation,
        }
    }

    fn empty(&self, span: Span) -> Figure {
        let at_ice_point = matches!(
            self.scope,
            Scope::Part {
                law: Some("platinum"),
                ..
            }
        );
        Figure {
            name: self.spec.name.to_owned(),
            dimension: self
                .dimensions
                .as_deref()
                .and_then(|list| list.first().copied())
                .unwrap_or(Dimension::NONE),
            min: None,
            typ: None,
            max: None,
            min_supply: None,
            typ_supply: None,
            max_supply: None,
            points: Vec::new(),
            points_column: Column::Typ,
            variable: None,
            choices: Vec::new(),
            role: self.spec.role,
            shape: None,
            coverage: 3.0,
            method: self.spec.method,
            reference_temperature_k: Some(if at_ice_point { ICE_K } else { ROOM_K }),
            temperature_stated: false,
            over_k: None,
            gain: None,
            rate_hz: None,
            band_hz: self.spec.band_hz,
            peak_to_peak: self.spec.peak_to_peak,
            conditions: String::new(),
            per: String::new(),
            part_of: None,
            basis: self.defaults.basis,
            source: self.defaults.source.clone(),
            span,
            text: String::new(),
            alternatives: Vec::new(),
        }
    }

    fn alternatives(&self, list: &[Item], span: Span) -> Option<Figure> {
        let mut figures = list.iter().filter_map(|item| match &item.content {
            Content::Table(table) => self.table(table, item.span),
            other => {
                self.faults.add(
                    item.span,
                    format!("an entry of `{}` is {}", self.spec.name, other.describe()),
                    "a table such as { typ = \"1 mV\", max = \"2 mV\" }",
                );
                None
            }
        });
        let Some(mut first) = figures.next() else {
            if list.is_empty() {
                self.faults.add(
                    span,
                    format!("`{}` is an empty list", self.spec.name),
                    "at least one table with the columns of the figure",
                );
            }
            return None;
        };
        first.alternatives = figures.collect();
        Some(first)
    }

    fn table(&self, table: &Table, span: Span) -> Option<Figure> {
        let fields = Fields::new(table, format!("figure `{}`", self.spec.name), self.faults);
        let before = self.faults.count();
        let mut figure = self.empty(span);
        figure.role = fields
            .word("role", &Role::ALL)
            .map_or(figure.role, |w| w.value);
        figure.shape = fields.word("shape", &ShapeName::ALL).map(|w| w.value);
        figure.method = fields
            .word("method", &DriftMethod::ALL)
            .map_or(figure.method, |w| w.value.into());
        self.read_coverage(&fields, &mut figure);
        if let Some(at) = fields.quantity("reference-temperature", Dimension::TEMPERATURE) {
            figure.reference_temperature_k = Some(at.value.value);
            figure.temperature_stated = true;
        }
        figure.over_k = fields
            .range("over", Dimension::TEMPERATURE)
            .map(|r| (r.value.low, r.value.high));
        figure.gain = self.read_gain(&fields);
        self.read_noise_terms(&fields, &mut figure);
        let text = |key| fields.text(key).map(|t| t.value.to_owned());
        figure.conditions = text("conditions").unwrap_or_default();
        figure.per = text("per").unwrap_or_default();
        figure.part_of = text("part-of");
        self.read_source(&fields, &mut figure);
        let usual_column = match figure.role {
            Role::Level => Column::Typ,
            Role::Deviation | Role::Limit => Column::Max,
        };
        figure.points_column = fields
            .word("points-of", &Column::ALL)
            .map_or(usual_column, |w| w.value);
        self.read_columns(&fields, &mut figure);
        fields.finish();
        if self.faults.count() == before && !has_value(&figure) {
            self.faults.add(
                span,
                format!("figure `{}` has no value", self.spec.name),
                "at least one of min, typ, max, value, points, choices",
            );
        }
        has_value(&figure).then_some(figure)
    }

    fn read_gain(&self, fields: &Fields<'_>) -> Option<(f64, f64)> {
        let (list, span) = fields.list("gain")?;
        let wanted = Wanted {
            dimensions: Some(&[Dimension::NONE]),
            absolute: false,
            supply: false,
        };
        let ends: Vec<f64> = list
            .iter()
            .filter_map(|item| wanted.number("gain", item, self.faults))
            .map(|number| number.value)
            .collect();
        match ends[..] {
            [low, high] if 0.0 < low && low <= high => Some((low, high)),
            _ => {
                self.faults.add(
                    span,
                    "`gain` is not two gains above zero in rising order",
                    "the lowest and the highest gain the figure holds at, for example [1, 2]",
                );
                None
            }
        }
    }

    /// The output rate a figure holds at, and how a noise is given.
    fn read_noise_terms(&self, fields: &Fields<'_>, figure: &mut Figure) {
        if let Some(rate) = fields.quantity("rate", Dimension::FREQUENCY) {
            if rate.value.value > 0.0 {
                figure.rate_hz = Some(rate.value.value);
            } else {
                self.faults.add(
                    rate.span,
                    "`rate` is not above zero",
                    "the output rate the figure holds at, for example \"16.7 Hz\"",
                );
            }
        }
        if let Some(band) = fields.range("band", Dimension::FREQUENCY) {
            let (low, high) = (band.value.low, band.value.high);
            if low >= 0.0 && low < high {
                figure.band_hz = Some((low, high));
            } else {
                self.faults.add(
                    band.span,
                    "`band` is not two frequencies in rising order",
                    "the band a noise was taken over, for example \"10 Hz to 100 kHz\"",
                );
            }
        }
        let given = [("rms", false), ("peak-to-peak", true)];
        if let Some(word) = fields.word("given-as", &given) {
            figure.peak_to_peak = Some(word.value);
        }
    }

    fn read_coverage(&self, fields: &Fields<'_>, figure: &mut Figure) {
        if let Some(k) = fields.number("coverage") {
            if k.value > 0.0 {
                figure.coverage = k.value;
            } else {
                self.faults.add(
                    k.span,
                    "`coverage` is not above zero",
                    "how many standard uncertainties the limits stand for, for example 3",
                );
            }
        }
    }

    fn read_source(&self, fields: &Fields<'_>, figure: &mut Figure) {
        let text = |key| fields.text(key).map(|t| t.value.to_owned());
        let basis = fields.word("basis", &Basis::ALL).map(|w| w.value);
        let document = text("document");
        let revision = text("revision");
        let place = text("place");
        if let Some(basis) = basis {
            figure.basis = basis;
            // What is remembered or made up was not read in the part's document.
            if !basis.is_documented() {
                figure.source = Source::default();
            }
        }
        if let Some(document) = document {
            figure.source = Source {
                document,
                ..Source::default()
            };
        }
        if let Some(revision) = revision {
            figure.source.revision = revision;
        }
        if let Some(place) = place {
            figure.source.place = place;
        }
    }

    fn read_columns(&self, fields: &Fields<'_>, figure: &mut Figure) {
        let mut settled: Option<Dimension> = None;
        let mut texts: Vec<String> = Vec::new();
        if let Some(item) = fields.item("value")
            && self.columns_from_value(item, figure).is_some()
        {
            settled = Some(figure.dimension);
            texts.push(std::mem::take(&mut figure.text));
        }
        for key in ["min", "typ", "max"] {
            let Some(item) = fields.item(key) else {
                continue;
            };
            let Some(number) = self.wanted().number(key, item, self.faults) else {
                continue;
            };
            texts.push(format!("{key} {}", shown(item)));
            if !self.same_dimension(&mut settled, number.dimension, item.span) {
                continue;
            }
            let Number { value, supply, .. } = number;
            match key {
                "min" => (figure.min, figure.min_supply) = (Some(value), supply),
                "typ" => (figure.typ, figure.typ_supply) = (Some(value), supply),
                _ => (figure.max, figure.max_supply) = (Some(value), supply),
            }
        }
        if let Some((list, span)) = fields.list("choices") {
            for item in list {
                if let Some(number) = self.wanted().number("choices", item, self.faults)
                    && self.same_dimension(&mut settled, number.dimension, item.span)
                {
                    figure.choices.push(number.value);
                }
            }
            texts.push(format!("{} choices", figure.choices.len()));
            if list.is_empty() {
                self.faults
                    .add(span, "`choices` is empty", "the settings to choose from");
            }
        }
        if let Some((list, span)) = fields.list("points") {
            self.read_points(list, span, figure, &mut settled);
            texts.push(format!("{} points", figure.points.len()));
        }
        if let Some(dimension) = settled {
            figure.dimension = dimension;
        }
        figure.text = texts.join(", ");
    }

    fn same_dimension(
        &self,
        settled: &mut Option<Dimension>,
        dimension: Dimension,
        span: Span,
    ) -> bool {
        let first = *settled.get_or_insert(dimension);
        if first != dimension {
            self.faults.add(
                span,
                format!(
                    "figure `{}` mixes {} with {}",
                    self.spec.name,
                    first.with_article(),
                    dimension.with_article()
                ),
                "one unit for all columns of a figure",
            );
        }
        first == dimension
    }

    fn read_points(
        &self,
        list: &[Item],
        span: Span,
        figure: &mut Figure,
        settled: &mut Option<Dimension>,
    ) {
        let quantity = [self.scope.quantity().unwrap_or(Dimension::NONE)];
        let variable = match self.spec.against {
            Against::Nothing => {
                self.faults.add(
                    span,
                    format!(
                        "figure `{}` does not depend on one variable",
                        self.spec.name
                    ),
                    "min, typ and max",
                );
                return;
            }
            Against::These(list) => Wanted {
                dimensions: Some(list),
                absolute: true,
                supply: false,
            },
            Against::Quantity => Wanted {
                dimensions: Some(&quantity),
                absolute: true,
                supply: false,
            },
        };
        let mut variable_dimension: Option<Dimension> = None;
        for item in list {
            let pair = match &item.content {
                Content::List(pair) => pair.as_slice(),
                _ => &[],
            };
            let [x, y] = pair else {
                self.faults.add(
                    item.span,
                    "a point is not a pair",
                    "[variable, value], for example [\"1 mA\", \"20 mV\"]",
                );
                continue;
            };
            let x_number = variable.number("points", x, self.faults);
            let y_number = Wanted {
                supply: false,
                ..self.wanted()
            }
            .number("points", y, self.faults);
            let (Some(x_number), Some(y_number)) = (x_number, y_number) else {
                continue;
            };
            if !self.same_dimension(&mut variable_dimension, x_number.dimension, x.span)
                || !self.same_dimension(settled, y_number.dimension, y.span)
            {
                continue;
            }
            if figure
                .points
                .last()
                .is_some_and(|(before, _)| *before >= x_number.value)
            {
                self.faults.add(
                    x.span,
                    "the points are not in order of their variable",
                    "each variable larger than the one before",
                );
                continue;
            }
            figure.points.push((x_number.value, y_number.value));
        }
        if list.is_empty() {
            self.faults
                .add(span, "`points` is empty", "at least one pair");
        }
        figure.variable = variable_dimension;
    }

    /// Fills the columns from a text or number standing for the whole figure.
    fn columns_from_value(&self, item: &Item, figure: &mut Figure) -> Option<()> {
        figure.text = shown(item);
        let wanted = self.wanted();
        let Content::Text(text, _) = &item.content else {
            let number = wanted.number("value", item, self.faults)?;
            self.set_single(number, figure);
            return Some(());
        };
        if let Ok(number) = wanted.text(text) {
            self.set_single(number, figure);
            return Some(());
        }
        let difference = |d: Dimension| d == Dimension::TEMPERATURE && !self.spec.is_absolute();
        if text.split_whitespace().any(|word| word == "to") {
            let range = wanted.dimension_of(text, |t, d| {
                if difference(d) {
                    quantity::range_difference(t, d)
                } else {
                    quantity::range(t, d)
                }
            });
            return match range {
                Ok(range) => {
                    figure.dimension = range.dimension;
                    (figure.min, figure.max) = (Some(range.low), Some(range.high));
                    Some(())
                }
                Err(fault) => {
                    self.faults.inside(item, fault);
                    None
                }
            };
        }
        let valued = wanted.dimension_of(text, |t, d| {
            if difference(d) {
                quantity::valued_difference(t, d)
            } else {
                quantity::valued(t, d)
            }
        });
        match valued {
            Ok(valued) => self.set_valued(&valued, item, figure),
            Err(fault) => {
                self.faults.inside(item, fault);
                None
            }
        }
    }

    fn set_single(&self, number: Number, figure: &mut Figure) {
        figure.dimension = number.dimension;
        match figure.role {
            Role::Deviation => figure.max = Some(number.value),
            Role::Level | Role::Limit => {
                figure.typ = Some(number.value);
                figure.typ_supply = number.supply;
            }
        }
    }

    fn set_valued(&self, valued: &Valued, item: &Item, figure: &mut Figure) -> Option<()> {
        let extra = if valued.drift_per_k.is_some() || valued.drift_absolute_per_k.is_some() {
            Some("a drift")
        } else if valued.per_unit || !valued.words.is_empty() {
            Some("words")
        } else if figure.role == Role::Deviation && valued.tolerance.is_some() {
            Some("a tolerance")
        } else {
            None
        };
        if let Some(extra) = extra {
            self.faults.add(
                item.span,
                format!("figure `{}` has {extra} after its value", self.spec.name),
                "a value; a drift is a figure of its own",
            );
            return None;
        }
        figure.dimension = valued.dimension;
        match figure.role {
            Role::Deviation => figure.max = Some(valued.nominal),
            Role::Level | Role::Limit => {
                figure.typ = Some(valued.nominal);
                if let Some(tolerance) = valued.tolerance {
                    let (low, high) = tolerance.limits(valued.nominal);
                    (figure.min, figure.max) = (Some(low), Some(high));
                }
            }
        }
        Some(())
    }
}

fn has_value(figure: &Figure) -> bool {
    figure.min.is_some()
        || figure.typ.is_some()
        || figure.max.is_some()
        || !figure.points.is_empty()
        || !figure.choices.is_empty()
}

/// A value as written.
fn shown(item: &Item) -> String {
    match &item.content {
        Content::Text(text, _) => text.clone(),
        Content::Whole(n) => n.to_string(),
        Content::Real(x) => x.to_string(),
        other => other.describe().to_owned(),
    }
}
