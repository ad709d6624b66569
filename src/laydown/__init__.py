"""laydown finds a wanted color among the colorants at hand, on the paper at hand.

The package is a pure core that knows light, paper and colorant as numbers (``color``, ``media``,
``match``, ``plan``) and a thin shell that knows files, databases and screens (``store``,
``documents``, ``app``, ``cli``). Use the parts by name: ``from laydown import media``.
"""

__version__ = "0.1.0"
