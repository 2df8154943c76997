//! Settings of single pins.

use document::{Content, Fields, Located};
use finding::{InputFault, nearest_of};

use crate::links::Link;
use crate::pins::{PinSetting, Pull};
use crate::read::Reader;

impl Reader<'_> {
    /// `[pins.DEVICE]` with a table or a word for each pin.
    pub(super) fn pin_settings(&self, top: &Fields<'_>) -> Vec<PinSetting> {
        let mut found: Vec<PinSetting> = Vec::new();
        for (key, table) in top.named("pins") {
            let Some(device) = self.devices.iter().position(|d| d.name == key.name) else {
                let known: Vec<&str> = self.devices.iter().map(|d| d.name.as_str()).collect();
                self.faults.push(
                    InputFault::new(
                        key.span,
                        format!("no device is named `{}`", key.name),
                        if known.is_empty() {
                            "a [controllers.NAME]".to_owned()
                        } else {
                            format!("one of {}", known.join(", "))
                        },
                    )
                    .suggest(nearest_of(&key.name, known.iter().copied())),
                );
                continue;
            };
            for (pin, item) in &table.entries {
                let mut setting = PinSetting {
                    device,
                    pin: pin.name.clone(),
                    pull: None,
                    usage: None,
                    span: pin.span,
                };
                match &item.content {
                    Content::Text(usage, _) => {
                        setting.usage = Some(Located {
                            value: usage.clone(),
                            span: item.span,
                        });
                    }
                    Content::Table(t) => {
                        let f = Fields::new(t, format!("pin {}", pin.name), self.faults);
                        setting.pull = f.word("pull", &Pull::ALL);
                        setting.usage = f.text("use").map(|t| t.map(str::to_owned));
                        f.finish();
                    }
                    other => self.faults.add(
                        item.span,
                        format!("pin {} is {}", pin.name, other.describe()),
                        "what it is used for, or { pull = \"up\", use = \"lamp\" }",
                    ),
                }
                found.push(setting);
            }
        }
        found
    }

    /// A wire from a pin to itself is a fault.
    pub(super) fn link_pins(&self, links: &[Link]) {
        for link in links {
            for port in &link.receivers {
                let own = link
                    .driver
                    .as_ref()
                    .is_some_and(|d| d.device == port.device && d.pin == port.pin);
                if own {
                    self.faults.add(
                        port.span,
                        format!("link {} is driven and heard by the same pin", link.name),
                        "a receiver that is not its driver",
                    );
                }
            }
        }
    }
}
