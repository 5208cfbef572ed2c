# Six inches a second: a salted stick drops too fast. What makes it fall level at six?
simsoft run six_inches_a_second.toml --quiet
# answers: brief: NO-GO
# answers: hook: 0\.\d+ g .* falls at 0\.50\d ft/s
simsoft pick six_inches_a_second.toml --samples 16 --quiet --out pick
# answers: Quarry stick 127: none in range
# lacks: pick does not look through the hook, which alone does it; no two levers together; ft/s
