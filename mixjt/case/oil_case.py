from mixjt.parts.oil import usual_oil
def case_oil(case):
    return usual_oil(case.circuit.compressor, case.tables["rating"]["refrigerant"])
