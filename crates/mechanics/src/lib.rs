//! What the cut does to chip, edge, cutter and spindle: thickness, force, power, deflection, finish, life, swarf.
