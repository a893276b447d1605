"""stub"""
bands = probability = sobol_indices = tornado = None
