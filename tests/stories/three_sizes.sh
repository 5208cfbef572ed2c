# Same action in three sizes and two recipes: a tail of 16 mm made at 12 and 20, soft and firm.
simsoft sweep three_sizes.toml --vary "parts.tail.length=12,16,20 mm" \
  --vary "material.durometer=42 OO,50 OO" --keep parts.tail.width/parts.tail.length \
  --keep parts.tail.thickness/parts.tail.length \
  --keep parts.tail.paddle_diameter/parts.tail.length \
  --keep parts.tail.paddle_thickness/parts.tail.length \
  --keep parts.tail.paddle_offset/parts.tail.length \
  --keep parts.tail.body_height/parts.tail.length \
  --keep parts.tail.body_width/parts.tail.length --write family
# answers: three_sizes_20mm_50OO.toml
simsoft pick three_sizes.toml --same-action --set material.durometer="42 OO" \
  --vary parts.tail.thickness="2.8,3.0,3.2 mm" --samples 8 --confirm 0 --quiet --out soft
# answers: thickness 2.8 mm -> 3 mm \(one resin loop\); met by [67]\d %
simsoft pick three_sizes.toml --same-action --set parts.tail.length="12 mm" \
  --set parts.tail.width="3.4 mm" --set parts.tail.paddle_diameter="12 mm" \
  --set parts.tail.paddle_thickness="2.25 mm" --set parts.tail.paddle_offset="3.75 mm" \
  --set parts.tail.body_height="6.75 mm" --set parts.tail.body_width="5.25 mm" \
  --vary parts.tail.thickness="1.8,2.1,2.4 mm" --samples 8 --confirm 0 --quiet --out small
# answers: none in range
# lacks: soft, no thickness tried keeps the action in 80 % of samples; a smaller tail beats faster
