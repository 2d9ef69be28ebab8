"""US units in ours: exact by the international agreements on the foot and the pound."""

M_PER_FT = 0.3048
HA_PER_ACRE = 0.40468564224
KG_PER_LB = 0.45359237
