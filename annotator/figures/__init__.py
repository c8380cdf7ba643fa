"""The figures: one family a module, each with ``detect`` and its inverse ``spell_out``, listed in ``registry``."""
