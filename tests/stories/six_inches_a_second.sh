# Six inches a second: a salted stick drops too fast. What makes it fall level at six?
simsoft run six_inches_a_second.toml --quiet
# answers: brief: NO-GO
# answers: hook: 0\.\d+ g .* falls at (5\.9|6\.0)\d? in/s
simsoft pick six_inches_a_second.toml --samples 16 --quiet --out pick
# answers: Quarry stick 127: wire diameter 1\.2 mm -> 0\.\d+ mm \(rig, now\)
# lacks: the thinnest wire looked through is the surest, and meets in fewer than 80 % of samples
