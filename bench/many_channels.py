#!/usr/bin/env python3
"""Writes a board with a number of channels, for timing `leastbit check`.

    bench/many_channels.py 200 > /tmp/board.toml

Dividers, pull-ups, platinum elements and filtered dividers in turn; all
figures are invented.
"""

import sys

HEAD = """[board]
name = "Press house, many inputs"

[conditions]
ambient = "2 °C to 38 °C"

[rails.logic]
voltage = "3.3 V ± 0.5 %"

[references.vref]
voltage = "2.5 V ± 0.1 % 10 ppm/K"

[converters.adc]
supply = "logic"
bits = 12
figures = { total-unadjusted-error = { max = "2 LSB", basis = "invented" } }
"""

KINDS = [
    """
[channels.supply-{n}]
quantity = "voltage"
span = "0 V to {volt} V"
accuracy = "60 mV"
chain = [{{ divider = {{ top = "{top} kΩ 0.1 % 25 ppm/K", bottom = "10 kΩ 0.1 % 25 ppm/K" }} }}]
input = "adc"
reference = "vref"
""",
    """
[channels.resistance-{n}]
quantity = "resistance"
span = "5 kΩ to 20 kΩ"
accuracy = "1 kΩ"
chain = [{{ pull-up = "{pull} kΩ 0.1 %", to = "logic" }}]
input = "adc"
""",
    """
[channels.tank-{n}]
quantity = "temperature"
span = "-5 °C to 35 °C"
accuracy = "1.5 °C"
sensor = {{ part = "platinum-1000-class-a", leads = "0.2 Ω ± 0.05 Ω each" }}
chain = [{{ pull-up = "2.2 kΩ 0.1 % 10 ppm/K", to = "vref" }}]
input = "adc"
reference = "vref"
""",
    """
[channels.cell-{n}]
quantity = "voltage"
span = "0 V to 4.2 V"
accuracy = "30 mV"
chain = [{{ divider = {{ top = "10 kΩ 0.1 %", bottom = "{pull} kΩ 0.1 %" }} }}, {{ low-pass = {{ r = "1 kΩ 1 %", c = "100 nF 10 %" }} }}]
input = "adc"
reference = "vref"
""",
]


def main(count):
    print(HEAD, end="")
    for n in range(count):
        print(KINDS[n % 4].format(n=n, volt=12 + n % 5, top=47 + n % 7, pull=10 + n % 3), end="")


if __name__ == "__main__":
    main(int(sys.argv[1]))
